// The server's clock as this device knows it. Phones' own clocks are wrong by seconds or minutes; an alarm needs one time.

/** Older bounds are dropped: a phone's clock may be put right while the page is open. */
const KEPT = 12;

export class ServerClock {
  private low: number[] = [];
  private high: number[] = [];

  constructor(private known_ms = 0) {}

  /** Milliseconds to add to this device's clock. */
  get offset_ms(): number {
    if (this.low.length === 0) return this.known_ms;
    const low = Math.max(...this.low);
    if (this.high.length === 0) return low;
    const high = Math.min(...this.high);
    return (low + high) / 2;
  }

  /** A question and its answer: the server's time lies between them. */
  asked(sent_ms: number, received_ms: number, server_ms: number): void {
    this.bound(server_ms - received_ms, server_ms - sent_ms);
  }

  /** A word from the server that nobody asked for: its time lies before now. */
  heard(received_ms: number, server_ms: number): void {
    this.bound(server_ms - received_ms, null);
  }

  private bound(low: number, high: number | null): void {
    const conflict =
      (this.high.length > 0 && low > Math.min(...this.high)) ||
      (high !== null && this.low.length > 0 && high < Math.max(...this.low));
    if (conflict) {
      this.low = [];
      this.high = [];
    }
    this.low = [...this.low, low].slice(-KEPT);
    if (high !== null) this.high = [...this.high, high].slice(-KEPT);
    this.known_ms = this.offset_ms;
  }
}
