// Numbers and times as people read them. Formatting only: no value is worked out here.

const two = (n: number) => String(n).padStart(2, '0');

/** Time since the alarm, or an age: `6:42`, past the hour `1:06:42`. */
export function span(ms: number): string {
  const seconds = Math.max(0, Math.floor(ms / 1000));
  const hours = Math.floor(seconds / 3600);
  const minutes = Math.floor(seconds / 60) % 60;
  const rest = two(seconds % 60);
  return hours > 0 ? `${hours}:${two(minutes)}:${rest}` : `${minutes}:${rest}`;
}

/** The same for a screen reader. */
export function spokenSpan(ms: number): string {
  const minutes = Math.max(0, Math.floor(ms / 60_000));
  const hours = Math.floor(minutes / 60);
  const part = (n: number, word: string) => `${n} ${word}${n === 1 ? '' : 's'}`;
  return hours > 0 ? `${part(hours, 'hour')} ${part(minutes % 60, 'minute')}` : part(minutes, 'minute');
}

/** Time of day with seconds, by the 24-hour clock. */
export function timeOfDay(ms: number): string {
  const when = new Date(ms);
  return `${two(when.getHours())}:${two(when.getMinutes())}:${two(when.getSeconds())}`;
}

/** `Wed 8 July`. */
export function dayOf(ms: number): string {
  return new Date(ms).toLocaleDateString('en-GB', { weekday: 'short', day: 'numeric', month: 'long' });
}

/**
 * A time of day as it is typed from a paper slate (`14:38:49`, `143849`, `14 38`), on the day of `near_ms`.
 * Minutes alone are not enough to tell what is meant, so anything else gives null.
 */
export function typedTime(text: string, near_ms: number): number | null {
  const trimmed = text.trim();
  const parts = /^\d{4}(\d{2})?$/.test(trimmed)
    ? (trimmed.match(/\d{2}/g) ?? [])
    : trimmed.split(/[\s:.,h]+/).filter(Boolean);
  if (parts.length < 2 || parts.length > 3 || parts.some((part) => !/^\d{1,2}$/.test(part))) return null;
  const [hour = 99, minute = 99, second = 0] = parts.map(Number);
  if (hour > 23 || minute > 59 || second > 59) return null;
  const when = new Date(near_ms);
  when.setHours(hour, minute, second, 0);
  // Just after midnight a slate's 23:58 belongs to the day before.
  if (when.getTime() > near_ms + 12 * 3_600_000) when.setDate(when.getDate() - 1);
  return when.getTime();
}

/** Day of a moment by this device's own clock, as a day file writes it. */
export function localDay(ms: number): string {
  const day = new Date(ms);
  return [day.getFullYear(), day.getMonth() + 1, day.getDate()].map((part) => String(part).padStart(2, '0')).join('-');
}

/** Whole per cent. */
export function percent(share: number): string {
  return Number.isFinite(share) ? `${Math.round(share * 100)} %` : '– %';
}

const HALF = ['', '½'];

/** Feet to the nearest half: `9½ ft`. */
export function feet(metres: number): string {
  const halves = Math.round((metres / 0.3048) * 2);
  const whole = Math.floor(halves / 2);
  const half = HALF[halves % 2] ?? '';
  return `${whole === 0 && half ? '' : whole}${half} ft`;
}

/** A height as people say it, in metres: `1.70`, `170`, `5'7`, `5 ft 7 in`, `5 ft`; null if it is none of a person. */
export function heightTyped(text: string): number | null {
  const said = text.trim().toLowerCase().replace(',', '.');
  const parts = /^(\d)\s*(?:ft|feet|foot|['’′])\s*(\d{1,2}(?:\.\d)?)?\s*(?:in|inch|inches|["”″]|'')?$/.exec(said);
  const number = /^\d+(\.\d+)?\s*(?:m|cm)?$/.test(said) ? Number.parseFloat(said) : Number.NaN;
  const inches = parts ? 12 * Number(parts[1]) + Number(parts[2] ?? 0) : 0;
  if (parts && Number(parts[2] ?? 0) >= 12) return null;
  const height = parts ? 0.0254 * inches : number > 3 ? number / 100 : number;
  return height > 0.8 && height < 2.5 ? Math.round(height * 100) / 100 : null;
}

/** How lengths are read: metres, metres with feet beside them, or feet alone at a site in feet. */
export type Lengths = 'metres' | 'both' | 'feet';

/** Metres with one decimal under ten, feet beside them or in their place where they are wanted. */
export function metres(value: number, lengths: Lengths): string {
  if (lengths === 'feet') return feet(value);
  const text = value < 10 && !Number.isInteger(value) ? value.toFixed(1) : String(Math.round(value));
  return lengths === 'both' ? `${text} m (${feet(value)})` : `${text} m`;
}

/** Puts feet beside every length in a text, or in its place. Speeds stay as they are; areas too where metres are read. */
export function withFeet(text: string, lengths: Lengths): string {
  if (lengths === 'metres') return text;
  const told = text.replace(/(\d+(?:\.\d+)?) m(?![\w²/(])(?! \()/g, (whole, number: string) => {
    return lengths === 'feet' ? feet(Number(number)) : `${whole} (${feet(Number(number))})`;
  });
  if (lengths === 'both') return told;
  return told.replace(/(\d+(?:\.\d+)?) m²/g, (_, number: string) => `${Math.round(Number(number) / (0.3048 * 0.3048))} sq ft`);
}

/** Height of a person: `1.30 m`, `1.30 m (4½ ft)`, `4 ft 3 in`. */
export function heightText(value: number, lengths: Lengths): string {
  const inches = Math.round(value / 0.0254);
  if (lengths === 'feet') return `${Math.floor(inches / 12)} ft ${inches % 12} in`;
  return lengths === 'both' ? `${value.toFixed(2)} m (${feet(value)})` : `${value.toFixed(2)} m`;
}

/** Metres of a length as the desk tells it, `1.2 m` or `3.94 ft`; null if it is none. */
export function lengthSaid(text: string): number | null {
  const said = /^(\d+(?:\.\d+)?) (m|ft)$/.exec(text);
  return said ? Number(said[1]) * (said[2] === 'ft' ? 0.3048 : 1) : null;
}

/** Shorter to read at arm's length, the same when said aloud: lengths by their sign, and a place that ends like the one before it. */
export function radioShort(text: string): string {
  return text.replace(/(\d) metres?\b/g, '$1 m').replace(/(\d) (?:feet|foot)\b/g, '$1 ft').replace(/^From (.+?) of (.+) to (.+) of \2(?=[.,;]|$)/, 'From $1 to $3 of $2');
}

/** A number and its unit, and the two halves of a direction, stay on one line. */
export function kept(text: string): string {
  return text.replace(/(\d) (m|ft|s|min|dives?|°C|%)(?!\w)/g, '$1\u00a0$2').replace(/\b(north|south)-(east|west)\b/g, '$1\u2060-\u2060$2');
}

/** As many letters as three lines of a phone hold at the size of an order. */
const HEAD_MOST = 64;

/** What is read first, large; and what follows it, smaller. Words keep their order. */
export function headed(lines: string[]): { head: string[]; rest: string } {
  const short = lines.map(radioShort);
  if (short.join(' ').length <= HEAD_MOST) return { head: short, rest: '' };
  const parts = short.map((line) => (/[.!?:;,]$/.test(line) ? line : `${line}.`)).flatMap((line) => line.split(/(?<=[.!?]) (?=[A-Z0-9])/));
  const first = parts.shift() ?? '';
  const list = first.length > HEAD_MOST + 12 ? /^(.{12,70}?): (.+)$/.exec(first) : null;
  if (list) return { head: [`${list[1]}:`], rest: [list[2], ...parts].join(' ') };
  const head = [first];
  while (parts.length > 0 && [...head, parts[0]].join(' ').length <= HEAD_MOST - 14) head.push(parts.shift() ?? '');
  return { head, rest: parts.join(' ') };
}

export function bearingText(degrees: number): string {
  return `${String(Math.round(((degrees % 360) + 360) % 360) % 360).padStart(3, '0')}°`;
}
