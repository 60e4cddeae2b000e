/**
 * What every screen can use.
 */
import { createContext } from 'preact';
import { useContext, useEffect, useState } from 'preact/hooks';
import type { DeviceView, GardenView } from '../views.js';
import type { Queue, QueueView, Waiting } from './queue.js';
import type { Store } from './store.js';

/** What was recorded last, to be undone. */
export interface Logged {
  readonly entry: string;
  readonly id: string;
  readonly words: string;
  readonly isTakenBack: boolean;
}

/** What is recorded for every plant scanned, in a round along the bench. */
export interface Round {
  readonly values: Readonly<Record<string, string>>;
  readonly words: string;
  /** Latest first. */
  readonly done: readonly Logged[];
}

export interface App {
  readonly queue: Queue;
  readonly store: Store<Waiting>;
  readonly device: DeviceView;
  readonly garden: GardenView | undefined;
  readonly logged: Logged | null;
  setLogged(logged: Logged | null): void;
  readonly round: Round | null;
  setRound(change: (round: Round | null) => Round | null): void;
}

export const AppContext = createContext<App | null>(null);

export function useApp(): App {
  const app = useContext(AppContext);
  if (app === null) throw new Error('outside the page');
  return app;
}

/** The queue as it is now, drawn anew whenever it changes. */
export function useQueue(): QueueView {
  const { queue } = useApp();
  const [view, setView] = useState(queue.view);
  useEffect(() => {
    setView(queue.view); // It may have changed since this was first drawn.
    return queue.listen(() => setView(queue.view));
  }, [queue]);
  return view;
}
