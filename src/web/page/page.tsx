/**
 * The page as a whole: is this phone paired, which screen is shown.
 */
import type { JSX } from 'preact';
import { useEffect, useState } from 'preact/hooks';
import type { DeviceView, GardenView } from '../views.js';
import { type App, AppContext, type Logged, type Round } from './app.js';
import { onNotPaired } from './ask.js';
import { fetchGarden, forgetGarden, keptGarden } from './garden.js';
import type { Queue, Waiting } from './queue.js';
import { AboutScreen } from './screens/about.js';
import { ChooseScreen } from './screens/choose.js';
import { CutScreen } from './screens/cut.js';
import { EndedScreen } from './screens/ended.js';
import { FindScreen } from './screens/find.js';
import { NoteScreen } from './screens/note.js';
import { PairScreen } from './screens/pair.js';
import { PlantScreen } from './screens/plant.js';
import { RoundScreen } from './screens/round.js';
import { TasteScreen } from './screens/taste.js';
import { UnresolvedScreen } from './screens/unresolved.js';
import { WaitingScreen } from './screens/waiting.js';
import { WalkScreen } from './screens/walk.js';
import { currentScreen, onScreenChange, type Screen } from './screens.js';
import type { Store } from './store.js';

interface PageProps {
  readonly queue: Queue;
  readonly store: Store<Waiting>;
  readonly knownAs: DeviceView | undefined;
}

export function Page({ queue, store, knownAs }: PageProps): JSX.Element {
  const [device, setDevice] = useState(knownAs);
  const [screen, setScreen] = useState(currentScreen());
  const [garden, setGarden] = useState<GardenView>();
  const [logged, setLogged] = useState<Logged | null>(null);
  const [round, setRound] = useState<Round | null>(null);
  const [isForgotten, setForgotten] = useState(false);

  useEffect(() => onScreenChange(setScreen), []);
  useEffect(() => {
    onNotPaired(() => {
      setForgotten(true);
      setGarden(undefined);
      void forgetGarden(store);
    });
  }, [store]);
  useEffect(() => {
    if (device === undefined || isForgotten) return;
    const refresh = async () => {
      const kept = await keptGarden(store);
      setGarden(kept);
      // Without reception the phone goes on with what it has.
      await fetchGarden(store, kept).then(setGarden, () => {});
    };
    void refresh();
    void queue.flush();
  }, [device, isForgotten, store, queue]);

  if (device === undefined || isForgotten) {
    const paired = (view: DeviceView) => {
      void store.write('device', view);
      setForgotten(false);
      setDevice(view);
    };
    return <PairScreen before={device} waiting={queue.view.waiting.length} onPaired={paired} />;
  }
  const app: App = { queue, store, device, garden, logged, setLogged, round, setRound };
  return (
    <AppContext.Provider value={app}>
      <Shown screen={screen} />
    </AppContext.Provider>
  );
}

function Shown({ screen }: { screen: Screen }): JSX.Element {
  switch (screen.name) {
    case 'find':
      return <FindScreen />;
    case 'plant':
      return <PlantScreen key={screen.plant.id} plant={screen.plant} issue={screen.issue} how={screen.how} />;
    case 'cut':
      return <CutScreen plant={screen.plant} issue={screen.issue} />;
    case 'taste':
      return <TasteScreen plant={screen.plant} issue={screen.issue} />;
    case 'note':
      return <NoteScreen plant={screen.plant} issue={screen.issue} />;
    case 'ended':
      return <EndedScreen plant={screen.plant} issue={screen.issue} />;
    case 'unresolved':
      return <UnresolvedScreen scan={screen.scan} />;
    case 'choose':
      return <ChooseScreen scans={screen.scans} whyNot={screen.whyNot} />;
    case 'round':
      return <RoundScreen />;
    case 'walk':
      return <WalkScreen asked={screen.asked} />;
    case 'waiting':
      return <WaitingScreen />;
    case 'about':
      return <AboutScreen />;
  }
}
