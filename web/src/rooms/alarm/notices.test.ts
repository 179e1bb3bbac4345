import { beforeEach, describe, expect, it } from 'vitest';
import type { Screen } from '../../generated/api';
import { ui } from '../../parts/ui.svelte';
import { cardWords, notices } from './notices';

const screen = {
  alarm_at_ms: 1000,
  order_zero: "Differs from the morning's card (Swim area): finds 37 % more. Call back whoever goes by the card.",
  kind: null,
  missing: [],
  sightings: [],
  said: [],
  cautions: [],
  care: null,
  break_off: null,
  widen: null,
  quiet_until_ms: null,
  map: { lanes: [] },
} as unknown as Screen;
const told = (of: Screen) => notices(of, [], [], [], 5000, () => true);

describe('orders that differ from the morning\'s card', () => {
  beforeEach(() => {
    ui.differsHeard = '';
  });

  it('come first until they were heard, and then hide nothing that is asked', () => {
    expect(told(screen)[0]).toMatchObject({ kind: 'card', loud: true, act: 'Heard' });
    ui.differsHeard = cardWords(screen);
    expect(told(screen)[0]).toMatchObject({ kind: 'ask', act: 'Say which' });
    expect(told(screen).at(-1)).toMatchObject({ kind: 'card', loud: false });
  });

  it('are said again in other words and at another alarm', () => {
    ui.differsHeard = cardWords(screen);
    expect(told({ ...screen, order_zero: 'No longer the orders of the morning\'s card (Swim area).' })[0]).toMatchObject({ kind: 'card', loud: true });
    expect(told({ ...screen, alarm_at_ms: 9000 })[0]).toMatchObject({ kind: 'card', loud: true });
  });

  it('are only told quietly where the card stands', () => {
    const stands = { ...screen, order_zero: "The first orders are those of the morning's card: Swim area." };
    expect(told(stands).at(-1)).toMatchObject({ kind: 'card', loud: false });
  });
});
