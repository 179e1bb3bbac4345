// What a phone does besides showing: it shakes, sounds, and stays awake.

let audio: AudioContext | null = null;

/** Browsers let a page sound only after a touch: take the first one. */
export function readySound(): void {
  const wake = () => {
    try {
      audio ??= new AudioContext();
      void audio.resume();
    } catch {
      // No sound on this device: the shake and the screen remain.
    }
  };
  addEventListener('pointerdown', wake, { passive: true });
  addEventListener('keydown', wake, { passive: true });
}

export function shake(pattern: number[]): void {
  try {
    if (navigator.userActivation?.hasBeenActive !== false) navigator.vibrate?.(pattern);
  } catch {
    // Some browsers refuse before the first touch.
  }
}

/** Two rising tones, as often as said. */
export function sound(times: number): void {
  if (!audio || audio.state !== 'running') return;
  const begin = audio.currentTime;
  for (let k = 0; k < times; k += 1) {
    for (const [late, pitch] of [
      [0, 880],
      [0.18, 1320],
    ] as const) {
      const tone = audio.createOscillator();
      const level = audio.createGain();
      tone.type = 'square';
      tone.frequency.value = pitch;
      const at = begin + k * 0.45 + late;
      level.gain.setValueAtTime(0.25, at);
      level.gain.setValueAtTime(0, at + 0.16);
      tone.connect(level).connect(audio.destination);
      tone.start(at);
      tone.stop(at + 0.17);
    }
  }
}

let lock: WakeLockSentinel | null = null;
let wanted = false;

/** Keeps the screen lit while an alarm runs, also after the page was hidden for a while. */
export function stayAwake(on: boolean): void {
  wanted = on;
  if (on) void hold();
  else void lock?.release().catch(() => {});
}

async function hold(): Promise<void> {
  if (!wanted || (lock && !lock.released) || document.visibilityState !== 'visible') return;
  try {
    lock = (await navigator.wakeLock?.request('screen')) ?? null;
  } catch {
    lock = null;
  }
}

document.addEventListener('visibilitychange', () => void hold());
