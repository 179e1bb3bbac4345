// The map's colours come from the same tokens as everything else, read when the theme changes.

export interface Palette {
  paper: string;
  ink: string;
  land: string;
  shore: string;
  wade: string;
  dive: string;
  deep: string;
  iso: string;
  isoKey: string;
  belief: string;
  belief50: string;
  belief80: string;
  lane: string;
  halo: string;
  people: string;
  deck: string;
  focus: string;
  font: string;
}

export function palette(grey: boolean): Palette {
  const style = getComputedStyle(document.documentElement);
  const read = (name: string) => style.getPropertyValue(`--${name}`).trim();
  const water = grey ? read('inset') : '';
  return {
    paper: read('paper'),
    ink: read('ink'),
    land: grey ? read('paper') : read('land'),
    shore: read('shore'),
    wade: water || read('water-wade'),
    dive: water || read('water-dive'),
    deep: water || read('water-deep'),
    iso: read('iso'),
    isoKey: grey ? read('ink-soft') : read('iso-key'),
    belief: grey ? read('ink-soft') : read('belief'),
    belief50: read('belief-50'),
    belief80: read('belief-80'),
    lane: read('lane'),
    halo: read('lane-halo'),
    people: grey ? read('ink') : read('people'),
    deck: grey ? read('inset') : read('deck'),
    focus: read('focus'),
    font: read('font'),
  };
}
