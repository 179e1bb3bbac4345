import { describe, expect, it } from 'vitest';
import { bearingText, feet, headed, heightText, heightTyped, kept, lengthSaid, localDay, metres, percent, span, spokenSpan, typedTime, withFeet } from './format';

describe('words for numbers', () => {
  it('spans', () => {
    expect([0, 9_999, 402_000, 3_999_000, -5].map(span)).toEqual(['0:00', '0:09', '6:42', '1:06:39', '0:00']);
    expect([0, 60_000, 3_720_000].map(spokenSpan)).toEqual(['0 minutes', '1 minute', '1 hour 2 minutes']);
  });

  it('the day of a moment', () => {
    expect(localDay(new Date(2026, 6, 8, 23, 59).getTime())).toBe('2026-07-08');
    expect(localDay(new Date(2026, 11, 1, 0, 0).getTime())).toBe('2026-12-01');
  });

  it('heights as people say them', () => {
    expect(['1.70', '1,7', '170', '170 cm', '1.7 m'].map(heightTyped)).toEqual([1.7, 1.7, 1.7, 1.7, 1.7]);
    expect(["5'7", "5' 7\"", '5 ft 7 in', '5ft7', '5 ft', '5’7”'].map(heightTyped)).toEqual([1.7, 1.7, 1.7, 1.7, 1.52, 1.7]);
    for (const odd of ['', 'tall', '5', '67', '0.3', '9 ft', "5'12", '-1.7', '1.7.0', '300']) expect(heightTyped(odd), odd).toBeNull();
  });

  it('times from a slate, and nothing that is not a time', () => {
    const near = new Date(2026, 6, 8, 15, 0, 0).getTime();
    const at = (h: number, m: number, s: number) => new Date(2026, 6, 8, h, m, s).getTime();
    expect(typedTime('14:38:49', near)).toBe(at(14, 38, 49));
    expect(typedTime('143849', near)).toBe(at(14, 38, 49));
    expect(typedTime('14 38', near)).toBe(at(14, 38, 0));
    expect(typedTime('1438', near)).toBe(at(14, 38, 0));
    for (const wrong of ['', '14', '25:00', '14:60', '14:38:49:1', 'soon', '1438491', '-1:30']) {
      expect(typedTime(wrong, near), wrong).toBeNull();
    }
    const midnight = new Date(2026, 6, 8, 0, 2, 0).getTime();
    expect(typedTime('23:58:00', midnight)).toBe(new Date(2026, 6, 7, 23, 58, 0).getTime());
  });

  it('lengths, with feet where wanted', () => {
    expect(feet(2.9)).toBe('9½ ft');
    expect(feet(0.15)).toBe('½ ft');
    expect(metres(2.94, 'metres')).toBe('2.9 m');
    expect(metres(40, 'both')).toBe('40 m (131 ft)');
    expect(withFeet('Depth 2.9 m, 10 m more.', 'both')).toBe('Depth 2.9 m (9½ ft), 10 m (33 ft) more.');
    expect(withFeet('0.11 m/s over 60 m² in 5 min', 'both')).toBe('0.11 m/s over 60 m² in 5 min');
    expect(withFeet('2.9 m', 'metres')).toBe('2.9 m');
    expect(metres(40, 'feet')).toBe('131 ft');
    expect(withFeet('Depth 2.9 m, 10 m more; 0.11 m/s over 60 m².', 'feet')).toBe('Depth 9½ ft, 33 ft more; 0.11 m/s over 646 sq ft.');
    expect([heightText(1.3, 'metres'), heightText(1.3, 'both'), heightText(1.3, 'feet')]).toEqual(['1.30 m', '1.30 m (4½ ft)', '4 ft 3 in']);
    expect([lengthSaid('1.2 m'), lengthSaid('10 ft'), lengthSaid('0.3 m/s')]).toEqual([1.2, 3.048, null]);
  });

  it('an order: what is first is large, the rest follows in its order', () => {
    expect(headed(['Call 112.', 'Nobody leaves unseen.'])).toEqual({ head: ['Call 112.', 'Nobody leaves unseen.'], rest: '' });
    expect(
      headed(['From 8 metres east of the marker to 14 metres north-east of the marker', 'Go north, bearing 356, 14 metres, 5 dives.', 'At the end count, report, hold.']),
    ).toEqual({ head: ['From 8 m east to 14 m north-east of the marker.'], rest: 'Go north, bearing 356, 14 m, 5 dives. At the end count, report, hold.' });
    expect(headed(['Take a tube to the last seen point, 15 metres east of Raft. Drop the marker.', 'Surface dives, 4 metres round it; Wren watches you.'])).toEqual({
      head: ['Take a tube to the last seen point, 15 m east of Raft.'],
      rest: 'Drop the marker. Surface dives, 4 m round it; Wren watches you.',
    });
    expect(headed(['Lookout for Oskar.', 'Tube in hand, above the water near the marker.', 'Count heads after every dive; one short, shout.']).head).toEqual(['Lookout for Oskar.']);
    const out = headed(['Count out before divers or boats go in: Ines, Oskar, Leila, Callum, Priya, Joss, Tamsin, Bram.', 'Go on recording.']);
    expect(out).toEqual({ head: ['Count out before divers or boats go in:'], rest: 'Ines, Oskar, Leila, Callum, Priya, Joss, Tamsin, Bram. Go on recording.' });
    expect(headed([])).toEqual({ head: [], rest: '' });
    expect(kept('17 m north-east, 4 dives')).toBe('17\u00a0m north\u2060-\u2060east, 4\u00a0dives');
  });

  it('chances and bearings', () => {
    expect([0.654, 0, 1, NaN].map(percent)).toEqual(['65 %', '0 %', '100 %', '– %']);
    expect([0, 4.6, 359.7, -90].map(bearingText)).toEqual(['000°', '005°', '000°', '270°']);
  });
});
