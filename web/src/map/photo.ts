// The photo from above under the map: pale, so that belief and lanes stay the plainest. It moves with the map and costs no new drawing
// of the picture: the browser turns and stretches it.
import Layer from 'ol/layer/Layer';
import type { FrameState } from 'ol/Map';
import type { Spot } from '../generated/api';

export interface PhotoLook {
  url: string;
  width_px: number;
  height_px: number;
  corners: [Spot, Spot, Spot, Spot] | Spot[];
}

export class PhotoLayer extends Layer {
  private readonly frame = document.createElement('div');
  private readonly image = document.createElement('img');
  private photo: PhotoLook | null = null;

  constructor() {
    super({ className: 'photo' });
    this.frame.className = 'photo-frame';
    this.image.alt = '';
    this.image.decoding = 'async';
    this.image.addEventListener('load', () => this.changed());
    this.frame.append(this.image);
    this.setVisible(false);
  }

  put(photo: PhotoLook | null): void {
    if (photo?.url !== this.photo?.url) {
      if (photo) this.image.src = photo.url;
      else this.image.removeAttribute('src');
    }
    this.photo = photo;
    this.setVisible(photo !== null);
    this.changed();
  }

  override render(state: FrameState | null): HTMLElement {
    if (state && this.photo) this.image.style.transform = placed(this.photo, state);
    return this.frame;
  }
}

/** Where the picture's pixels lie on the screen: three of its corners say it, since it is a parallelogram. */
export function placed(photo: PhotoLook, state: { coordinateToPixelTransform: number[] }): string {
  const [m0 = 1, m1 = 0, m2 = 0, m3 = 1, m4 = 0, m5 = 0] = state.coordinateToPixelTransform;
  const at = (spot: Spot | undefined) => {
    const { east = 0, north = 0 } = spot ?? {};
    return [m0 * east + m2 * north + m4, m1 * east + m3 * north + m5] as const;
  };
  const [upperLeft, upperRight, , lowerLeft] = photo.corners;
  const [x, y] = at(upperLeft);
  const [rx, ry] = at(upperRight);
  const [dx, dy] = at(lowerLeft);
  const parts = [(rx - x) / photo.width_px, (ry - y) / photo.width_px, (dx - x) / photo.height_px, (dy - y) / photo.height_px, x, y];
  return `matrix(${parts.map((part) => part.toFixed(6)).join()})`;
}
