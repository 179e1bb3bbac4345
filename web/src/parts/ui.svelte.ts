// What this device looks at: the room, an open sheet, the theme. Never part of the incident.

import type { Lengths } from './format';

export type Room = 'alarm' | 'today' | 'water' | 'practice' | 'records';

export type Sheet =
  | { kind: 'other' }
  | { kind: 'witness'; number: number }
  | { kind: 'line'; order: number }
  | { kind: 'count'; order: number }
  | { kind: 'stopped'; order: number }
  | { kind: 'contact' }
  | { kind: 'shore' }
  | { kind: 'came' }
  | { kind: 'left' }
  | { kind: 'current' }
  | { kind: 'who' }
  | { kind: 'kind' }
  | { kind: 'late' }
  | { kind: 'role' }
  | { kind: 'end' }
  | { kind: 'passed' }
  | { kind: 'ashore' }
  | { kind: 'note' }
  | { kind: 'notices' }
  | { kind: 'log' }
  | { kind: 'say'; order: number }
  | { kind: 'figure'; name: string }
  | { kind: 'settings' };

const ROOMS: Room[] = ['alarm', 'today', 'water', 'practice', 'records'];

class Ui {
  room = $state<Room>('alarm');
  sheet = $state<Sheet | null>(null);
  bigMap = $state(false);
  /** One of several was found: care is shown here although the search goes on. */
  care = $state(false);
  /** What this device heard of orders that differ from the morning's card: alarm and words. Other words are said anew. */
  differsHeard = $state('');
  wide = $state(false);
  low = $state(false);
  tight = $state(false);
  /** The practice bar takes its height off the room. */
  barred = $state(false);
  dusk = $state(false);
  feet = $state(false);
  /** The site is in feet: all that the desk says is, and no metres are read here. */
  inFeet = $state(false);
  /** The photo under the map is shown here. */
  photo = $state(true);

  start(): void {
    const wide = matchMedia('(min-width: 900px) and (min-height: 560px)');
    const see = () => {
      this.wide = wide.matches;
      this.measure();
    };
    addEventListener('resize', see);
    see();
    this.setDusk(read('theme') === 'dusk');
    this.feet = read('feet') === 'yes';
    this.photo = read('photo') !== 'no';
    addEventListener('hashchange', () => this.follow());
    this.follow();
  }

  /** Low screens ask one thing at a time; the map gives way first. */
  measure(): void {
    const height = innerHeight - (this.barred ? 72 : 0);
    this.low = height < 760 && !this.wide;
    this.tight = height <= 780 && !this.wide;
  }

  bar(on: boolean): void {
    this.barred = on;
    this.measure();
  }

  go(room: Room): void {
    this.room = room;
    this.sheet = null;
    if (location.hash !== `#${room}`) history.replaceState(null, '', `#${room}`);
  }

  setDusk(on: boolean): void {
    this.dusk = on;
    document.documentElement.dataset.theme = on ? 'dusk' : 'sun';
    document.querySelector('meta[name=theme-color]')?.setAttribute('content', on ? '#000000' : '#07141A');
    write('theme', on ? 'dusk' : 'sun');
  }

  /** How lengths are read at this device. */
  get lengths(): Lengths {
    return this.inFeet ? 'feet' : this.feet ? 'both' : 'metres';
  }

  /** Feet as the site has them; at a site in metres whoever holds the device may have feet beside them. */
  siteUnits(units: string | undefined): void {
    this.inFeet = units === 'feet';
    this.feet = this.inFeet || read('feet') === 'yes';
  }

  setFeet(on: boolean): void {
    this.feet = on;
    write('feet', on ? 'yes' : 'no');
  }

  setPhoto(on: boolean): void {
    this.photo = on;
    write('photo', on ? 'yes' : 'no');
  }

  private follow(): void {
    const name = location.hash.slice(1) as Room;
    if (ROOMS.includes(name)) this.room = name;
  }
}

function read(key: string): string | null {
  try {
    return localStorage.getItem(key);
  } catch {
    return null;
  }
}

function write(key: string, value: string): void {
  try {
    localStorage.setItem(key, value);
  } catch {
    // A browser that keeps nothing shows the default next time.
  }
}

export const ui = new Ui();
