// The one line to the desk: joins, listens, keeps the last picture, and sends reports in order.
import type { Report, Screen, Sent } from '../generated/api';
import { laid, type Change } from './change';
import { ServerClock } from './clock';
import { Outbox, type Delivery } from './outbox';
import { openStore, type Outgoing, type Store } from './store';
import type { Answer, Beat, Chart, Hello, Still, Zero } from './wire';

/** No word for so long: the link counts as lost (a beat comes every 3 s). */
const SILENCE_MS = 7_000;
const ASK_MS = 6_000;
/** The photo is fetched so long after the page has all it needs. */
const PHOTO_LATE_MS = 2_500;
const BACKOFF_MS = [300, 700, 1_500, 3_000];

type Phase = 'starting' | 'stranger' | 'joined';

class Link {
  phase = $state<Phase>('starting');
  site = $state('');
  screen = $state.raw<Screen | null>(null);
  chart = $state.raw<Chart | null>(null);
  zero = $state.raw<Zero | null>(null);
  still = $state.raw<Still | null>(null);
  /** The photo under the map, once it is here; kept by the device, so that it is there without a link. */
  photo = $state.raw<{ url: string; place: NonNullable<Still['photo']> } | null>(null);
  live = $state(false);
  /** Server's time when the link was lost. */
  lost_ms = $state<number | null>(null);
  phones = $state(0);
  phonesLive = $state(0);
  headCode = $state('');
  waiting = $state.raw<Outgoing[]>([]);
  refused = $state.raw<Outgoing[]>([]);
  trouble = $state('');
  /** What the desk says of itself: a disk that takes nothing, a picture that is late. */
  deskTrouble = $state.raw<string[]>([]);
  /** The desk was opened for practice. */
  practice = $state(false);
  /** Server's time, ticking. */
  now = $state(Date.now());

  private clock = new ServerClock();
  private store!: Store;
  private outbox!: Outbox;
  private device = '';
  private csrf = '';
  private source: EventSource | null = null;
  private heard_at = 0;
  private tries = 0;
  private again: ReturnType<typeof setTimeout> | undefined;
  private keeping: ReturnType<typeof setTimeout> | undefined;

  async start(): Promise<void> {
    setInterval(() => this.tick(), 200);
    this.store = await openStore();
    await this.recall();
    this.outbox = new Outbox(
      this.store,
      (reports) => this.carry(reports),
      this.device,
      () => {
        this.waiting = this.outbox.waiting;
        this.refused = this.outbox.refused;
        this.trouble = this.outbox.trouble;
      },
    );
    await this.outbox.open();
    addEventListener('online', () => this.connect());
    addEventListener('offline', () => this.lose());
    document.addEventListener('visibilitychange', () => {
      if (document.visibilityState === 'visible' && !this.live) this.connect();
    });
    this.connect();
  }

  /** Everything that stands in the way now, in words. */
  get troubles(): string[] {
    return [...(this.trouble ? [this.trouble] : []), ...this.deskTrouble];
  }

  /** One touch, one report. `happened_ms` is told for late entries; otherwise it is now. */
  report(report: Report, words: string, happened_ms?: number): void {
    void this.outbox.add(report, words, happened_ms ?? this.moment());
  }

  /** Server's time of this instant. */
  moment(): number {
    return Date.now() + this.clock.offset_ms;
  }

  forget(item: Outgoing): void {
    void this.outbox.forget(item);
  }

  /** Joins by the day's word or a token; gives what went wrong, or an empty text. */
  async join(key: { word?: string; token?: string }): Promise<string> {
    const answer = await this.ask('/api/join', { device: this.device, ...key });
    if (!answer) return 'no link to the desk: is this phone on its Wi-Fi?';
    if (answer.status === 429) return 'too many tries: wait a minute, or scan the code on the desk';
    if (!answer.ok) return 'that is not the word of today: ask the lead, or scan the code on the desk';
    const body = (await answer.json()) as { csrf: string };
    this.csrf = body.csrf;
    void this.store.put('csrf', this.csrf);
    this.connect();
    return '';
  }

  async fetchText(path: string): Promise<string | null> {
    const answer = await this.ask(path);
    return answer?.ok ? answer.text() : null;
  }

  async fetchJson<T>(path: string): Promise<T | null> {
    const answer = await this.ask(path);
    return answer?.ok ? ((await answer.json()) as T) : null;
  }

  /** Makes the morning's cards anew; for the lead. */
  async makeZero(): Promise<string> {
    const answer = await this.ask('/api/zero', {});
    if (!answer) return 'no link to the desk';
    if (!answer.ok) return refusalText(await answer.json().catch(() => null));
    await this.fetchZero();
    return '';
  }

  private async recall(): Promise<void> {
    const get = <T>(key: string) => this.store.get<T>(key).catch(() => undefined);
    this.device = (await get<string>('device')) ?? '';
    if (!this.device) {
      const chance = new Uint32Array(3);
      crypto.getRandomValues(chance);
      this.device = [...chance].map((part) => part.toString(36)).join('');
      void this.store.put('device', this.device).catch(() => {});
    }
    this.csrf = (await get<string>('csrf')) ?? '';
    this.clock = new ServerClock((await get<number>('offset')) ?? 0);
    this.screen = (await get<Screen>('screen')) ?? null;
    this.chart = (await get<Chart>('chart')) ?? null;
    this.zero = (await get<Zero>('zero')) ?? null;
    this.still = (await get<Still>('still')) ?? null;
    void this.recallPhoto();
    this.site = this.chart?.name ?? '';
    this.headCode = this.screen?.head_code ?? '';
    if (this.screen) {
      this.phase = 'joined';
      this.lost_ms = (await get<number>('seen')) ?? this.screen.at_ms;
    }
  }

  private tick(): void {
    this.now = this.moment();
    if (this.live && Date.now() - this.heard_at > SILENCE_MS) this.lose();
  }

  private connect(): void {
    clearTimeout(this.again);
    void this.greet();
  }

  private async greet(): Promise<void> {
    const sent = Date.now();
    const answer = await this.ask('/api/hello');
    const hello = answer?.ok ? ((await answer.json().catch(() => null)) as Hello | null) : null;
    if (!hello) {
      this.lose();
      return;
    }
    this.clock.asked(sent, Date.now(), hello.now_ms);
    void this.store.put('offset', this.clock.offset_ms).catch(() => {});
    this.site = hello.site;
    this.practice = hello.practice;
    if (hello.csrf) {
      this.csrf = hello.csrf;
      void this.store.put('csrf', this.csrf).catch(() => {});
    }
    if (!hello.joined) {
      this.phase = 'stranger';
      return;
    }
    this.phase = 'joined';
    this.listen();
    void this.fetchChart();
    void this.fetchZero();
    void this.fetchStill();
  }

  private listen(): void {
    this.source?.close();
    const source = new EventSource(`/api/live?since=${this.screen?.seq ?? 0}`);
    this.source = source;
    const word = () => {
      if (source !== this.source) return;
      this.heard_at = Date.now();
      if (!this.live) {
        this.live = true;
        this.lost_ms = null;
        this.tries = 0;
        void this.outbox.flush();
      }
    };
    source.onopen = word;
    // What this stream has brought: changes are of that, also when another screen was fetched meanwhile.
    let brought: Screen | null = null;
    const bring = (screen: Screen) => {
      word();
      brought = screen;
      if (source === this.source) this.take(screen);
    };
    source.addEventListener('screen', (event) => bring(JSON.parse((event as MessageEvent<string>).data) as Screen));
    source.addEventListener('change', (event) => {
      if (brought) bring(laid(brought, JSON.parse((event as MessageEvent<string>).data) as Change));
    });
    source.addEventListener('beat', (event) => {
      word();
      const beat = JSON.parse((event as MessageEvent<string>).data) as Beat;
      this.clock.heard(Date.now(), beat.now_ms);
      this.phones = beat.phones;
      this.phonesLive = beat.live;
      this.headCode = beat.head_code;
      this.deskTrouble = beat.trouble ?? [];
      if (beat.zero_made_at_ms && beat.zero_made_at_ms !== this.zero?.made_at_ms) void this.fetchZero();
      // A screen that went missing on the way is fetched rather than waited for.
      if (!this.screen || beat.seq > this.screen.seq) void this.catchUp(beat.seq);
      if (this.waiting.length > 0) void this.outbox.flush();
    });
    source.onerror = () => {
      if (source === this.source) this.lose();
    };
  }

  private async catchUp(seq: number): Promise<void> {
    await new Promise((resolve) => setTimeout(resolve, 600));
    if (this.screen && this.screen.seq >= seq) return;
    const screen = await this.fetchJson<Screen>('/api/screen');
    // A desk that was started again has not thought yet: the picture that is here is the better one, and the stream brings the next.
    if (screen?.stage === 'searching' && screen.orders_given && screen.map.lanes.length === 0) return;
    if (screen && (!this.screen || screen.seq >= this.screen.seq)) this.take(screen);
  }

  private take(screen: Screen): void {
    this.screen = screen;
    this.headCode = screen.head_code;
    clearTimeout(this.keeping);
    this.keeping = setTimeout(() => {
      void this.store.put('screen', screen).catch(() => {});
      void this.store.put('seen', this.moment()).catch(() => {});
    }, 150);
  }

  private lose(): void {
    this.source?.close();
    this.source = null;
    if (this.live || this.lost_ms === null) this.lost_ms = this.moment();
    this.live = false;
    const wait = BACKOFF_MS[Math.min(this.tries, BACKOFF_MS.length - 1)] ?? 3_000;
    this.tries += 1;
    clearTimeout(this.again);
    // Spread a little, so that twenty phones do not knock in the same instant after a restart.
    this.again = setTimeout(() => this.connect(), wait * (0.8 + 0.4 * Math.random()));
  }

  private async fetchChart(): Promise<void> {
    const chart = await this.fetchJson<Chart>('/api/site');
    if (!chart) return;
    this.chart = chart;
    this.site = chart.name;
    void this.store.put('chart', chart).catch(() => {});
  }

  private async fetchStill(): Promise<void> {
    const still = await this.fetchJson<Still>('/api/still');
    if (!still || !Array.isArray(still.pointing)) return;
    this.still = still;
    void this.store.put('still', still).catch(() => {});
    await this.recallPhoto();
    const wanted = still.photo?.address;
    if (!wanted || this.photo?.place.address === wanted) return;
    // After all else: nobody waits for a picture.
    setTimeout(() => void this.fetchPhoto(wanted), PHOTO_LATE_MS);
  }

  private async fetchPhoto(address: string): Promise<void> {
    if (this.photo?.place.address === address) return;
    const answer = await this.ask(address);
    const blob = answer?.ok ? await answer.blob().catch(() => null) : null;
    if (!blob || !blob.type.startsWith('image/')) return;
    await this.store.put('photo', { address, blob }).catch(() => {});
    this.lay(address, blob);
  }

  /** The photo that this device kept, if it is the one that belongs to the site. */
  private async recallPhoto(): Promise<void> {
    const wanted = this.still?.photo?.address;
    if (!wanted || this.photo?.place.address === wanted) return;
    const kept = await this.store.get<{ address: string; blob: Blob }>('photo').catch(() => undefined);
    if (kept && kept.address === wanted) this.lay(wanted, kept.blob);
  }

  private lay(address: string, blob: Blob): void {
    const place = this.still?.photo;
    if (!place || place.address !== address || this.photo?.place.address === address) return;
    if (this.photo) URL.revokeObjectURL(this.photo.url);
    this.photo = { url: URL.createObjectURL(blob), place };
  }

  async fetchZero(): Promise<void> {
    const zero = await this.fetchJson<Zero>('/api/zero');
    if (!zero || !Array.isArray(zero.zones)) return;
    this.zero = zero;
    void this.store.put('zero', zero).catch(() => {});
  }

  private async ask(path: string, body?: unknown): Promise<Response | null> {
    const stop = new AbortController();
    const timer = setTimeout(() => stop.abort(), ASK_MS);
    try {
      return await fetch(path, {
        signal: stop.signal,
        credentials: 'same-origin',
        cache: 'no-store',
        ...(body === undefined
          ? {}
          : {
              method: 'POST',
              headers: { 'content-type': 'application/json', 'x-fathomline-csrf': this.csrf },
              body: JSON.stringify(body),
            }),
      });
    } catch {
      return null;
    } finally {
      clearTimeout(timer);
    }
  }

  private async carry(reports: Sent[]): Promise<Delivery> {
    const answer = await this.ask('/api/report', { reports });
    if (!answer) return { kind: 'later' };
    const body = (await answer.json().catch(() => null)) as { answers?: Answer[] } | null;
    if (answer.ok && Array.isArray(body?.answers)) return { kind: 'answers', answers: body.answers };
    if (answer.status === 401 || answer.status === 403) {
      void this.greet();
      return { kind: 'later', trouble: 'the desk does not know this phone: reports wait here' };
    }
    if (answer.status === 400 || answer.status === 413 || answer.status === 422) {
      return { kind: 'wrong', what: refusalText(body) };
    }
    return { kind: 'later', trouble: refusalText(body) };
  }
}

function refusalText(body: unknown): string {
  const said = body as { what?: string; remedy?: string } | null;
  return [said?.what, said?.remedy].filter(Boolean).join('; ') || 'the desk did not take it';
}

export const link = new Link();
