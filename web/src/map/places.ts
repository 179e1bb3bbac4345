import type { Spot } from '../generated/api';
import type { Place } from '../link/wire';

/** Site metres as the map library takes them: east, north. */
export function places(spots: Spot[]): Place[] {
  return spots.map(({ east, north }) => [east, north]);
}
