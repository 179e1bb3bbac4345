// Own position on the map, where the device gives one and was allowed to. Never asked for by itself, never sent anywhere.
import type { Spot } from '../generated/api';
import { link } from '../link/link.svelte';

class Self {
  at = $state.raw<{ spot: Spot; error_m: number } | null>(null);
  refused = $state(false);
  private watch: number | null = null;

  /** Asks the device; called by a touch on "show where I am". */
  begin(): void {
    if (this.watch !== null || !('geolocation' in navigator)) {
      this.refused ||= !('geolocation' in navigator);
      return;
    }
    this.watch = navigator.geolocation.watchPosition(
      ({ coords }) => {
        const spot = place(coords.longitude, coords.latitude);
        if (spot) this.at = { spot, error_m: coords.accuracy };
      },
      () => {
        this.refused = true;
        this.end();
      },
      { enableHighAccuracy: true, maximumAge: 5_000 },
    );
  }

  end(): void {
    if (this.watch !== null) navigator.geolocation.clearWatch(this.watch);
    this.watch = null;
    this.at = null;
  }
}

const self = new Self();

export function watchSelf(): Self {
  return self;
}

/** Site metres of a fix: over a bathing place the earth is flat to centimetres. */
function place(lon: number, lat: number): Spot | null {
  const origin = link.chart?.origin;
  if (!origin) return null;
  const middle = ((lat + origin[1]) / 2) * (Math.PI / 180);
  // Lengths of a degree on the WGS 84 ellipsoid, series in the latitude.
  const north_m = 111_132.954 - 559.822 * Math.cos(2 * middle) + 1.175 * Math.cos(4 * middle);
  const east_m = 111_412.84 * Math.cos(middle) - 93.5 * Math.cos(3 * middle) + 0.118 * Math.cos(5 * middle);
  return { east: (lon - origin[0]) * east_m, north: (lat - origin[1]) * north_m };
}
