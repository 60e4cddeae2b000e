/**
 * Which screen is shown. It stands in the browser's history, so that the phone's own back button works
 * and a reload comes back to the same place.
 */
import type { NotOnePlant } from '../../scan/one-plant.js';
import type { PlantView, ScanView } from '../views.js';

/** A plant as it was found: `issue` is null where its ID was typed or a person said that it is this one. */
export interface Found {
  readonly plant: PlantView;
  readonly issue: number | null;
  /** How its tag was read in a picture. */
  readonly how?: ScanView['how'] | undefined;
}

/** A damaged tag of which a walk asks whose it is, and where it hangs. */
export interface Asked {
  readonly station: string | null;
  readonly scan: ScanView;
}

export type Screen =
  | { readonly name: 'find' }
  | ({ readonly name: 'plant' } & Found)
  | ({ readonly name: 'cut' | 'taste' | 'note' | 'ended' } & Found)
  | { readonly name: 'unresolved'; readonly scan: ScanView }
  | { readonly name: 'choose'; readonly scans: readonly ScanView[]; readonly whyNot: NotOnePlant }
  | { readonly name: 'round' }
  | { readonly name: 'walk'; readonly asked?: Asked | undefined }
  | { readonly name: 'waiting' }
  | { readonly name: 'about' };

export type ScreenName = Screen['name'];

type Listener = (screen: Screen) => void;
let listener: Listener = () => {};

export function currentScreen(): Screen {
  return (history.state as Screen | null) ?? { name: 'find' };
}

export function onScreenChange(listen: Listener): void {
  listener = listen;
  addEventListener('popstate', () => listener(currentScreen()));
}

export function goTo(screen: Screen): void {
  history.pushState(screen, '', location.pathname);
  listener(screen);
}

/** Goes on without leaving the screen before in the history. */
export function replaceBy(screen: Screen): void {
  history.replaceState(screen, '', location.pathname);
  listener(screen);
}

export function goBack(): void {
  if (history.state === null) replaceBy({ name: 'find' });
  else history.back();
}
