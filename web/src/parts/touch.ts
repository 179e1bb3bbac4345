// Wet hands: what counts as a touch, for every button at once.
// Acts on release within 24 px; three or more contacts are a palm or spray; a button is dead 400 ms after firing.

const SLIP_PX = 24;
const DEAD_MS = 400;

export function guardTouches(root: Document): void {
  const down = new Map<number, { x: number; y: number }>();
  let crowd = false;
  let start = { x: 0, y: 0 };
  let fired: { on: Element | null; at: number } = { on: null, at: 0 };
  const capture = { capture: true, passive: true } as const;
  root.addEventListener(
    'pointerdown',
    (event) => {
      if (down.size === 0) crowd = false;
      down.set(event.pointerId, { x: event.clientX, y: event.clientY });
      if (down.size >= 3) crowd = true;
      start = { x: event.clientX, y: event.clientY };
    },
    capture,
  );
  const up = (event: PointerEvent) => void down.delete(event.pointerId);
  root.addEventListener('pointerup', up, capture);
  root.addEventListener('pointercancel', up, capture);
  root.addEventListener(
    'click',
    (event) => {
      const button = (event.target as Element | null)?.closest('button, a, [role=button]') ?? null;
      if (!button) return;
      const byHand = event.detail > 0;
      const slipped = byHand && Math.hypot(event.clientX - start.x, event.clientY - start.y) > SLIP_PX;
      const dead =
        fired.on === button && performance.now() - fired.at < DEAD_MS && !button.hasAttribute('data-quick');
      if ((byHand && crowd) || slipped || dead) {
        event.stopImmediatePropagation();
        event.preventDefault();
        return;
      }
      fired = { on: button, at: performance.now() };
    },
    { capture: true },
  );
}
