/** Starts the page: opens what the phone keeps, then draws. */
import { render } from 'preact';
import type { DeviceView } from '../views.js';
import { Page } from './page.js';
import { Queue, type Waiting } from './queue.js';
import { openStore } from './store.js';

const store = await openStore<Waiting>();
const queue = new Queue(store);
const knownAs = await store.read<DeviceView>('device');

// Asks the browser not to clear what waits when the phone runs short of room.
navigator.storage?.persist?.().catch(() => {});
// Where the browser does not trust the certificate it says no, and the page works without.
if ('serviceWorker' in navigator) navigator.serviceWorker.register('/service-worker.js').catch(() => {});

addEventListener('online', () => void queue.flush());
document.addEventListener('visibilitychange', () => {
  if (!document.hidden) void queue.flush();
});

const root = document.getElementById('page');
if (root === null) throw new Error('the page has no place');
root.textContent = '';
render(<Page queue={queue} store={store} knownAs={knownAs} />, root);
