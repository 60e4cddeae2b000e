/**
 * A way to a server that can be cut, right after the server was told to commit, before its answer comes back; or on which
 * nothing comes through any more, though it stands.
 */
import { connect, createServer, type Socket } from 'node:net';

export interface CuttingProxy {
  readonly port: number;
  /** From now on, what follows on COMMIT is cut off; with `forGood` nothing gets through afterwards either. */
  cutAfterCommit(forGood: boolean): void;
  /** From now on, what follows on COMMIT is held back; resolves when the server has answered it. */
  holdAfterCommit(): Promise<void>;
  /** From now on nothing comes through, on connections that stand and on new ones. */
  fallSilent(): void;
  mend(): void;
  close(): Promise<void>;
}

/** The message "Query" of PostgreSQL's protocol, version 3: `Q`, its length in four bytes, text, a zero. */
const COMMIT = Buffer.from('Q\0\0\0\x0bCOMMIT\0', 'latin1');

export async function startProxy(serverPort: number): Promise<CuttingProxy> {
  let [isArmed, isForGood, isClosed, isSilent] = [false, false, false, false];
  let onHeld: (() => void) | undefined;
  const open = new Set<Socket>();
  const proxy = createServer((client) => {
    if (isClosed) {
      client.destroy();
      return;
    }
    const there = connect(serverPort, '127.0.0.1');
    let [isCut, isHeld] = [false, false];
    for (const socket of [client, there]) {
      open.add(socket);
      socket.on('error', () => {});
      socket.on('close', () => {
        open.delete(socket);
        client.destroy();
        there.destroy();
      });
    }
    client.on('data', (data) => {
      if (isArmed && data.includes(COMMIT)) {
        isArmed = false;
        isCut = onHeld === undefined;
        isHeld = !isCut;
        isClosed = isForGood;
      }
      if (!isSilent) there.write(data);
    });
    there.on('data', (data) => {
      if (isHeld) onHeld?.();
      else if (isCut) client.destroy();
      else if (!isSilent) client.write(data);
    });
  }).listen(0, '127.0.0.1');
  await new Promise((resolve) => proxy.once('listening', resolve));
  return {
    port: (proxy.address() as { port: number }).port,
    cutAfterCommit(forGood) {
      isArmed = true;
      isForGood = forGood;
      onHeld = undefined;
    },
    holdAfterCommit() {
      isArmed = true;
      isForGood = false;
      return new Promise((resolve) => {
        onHeld = resolve;
      });
    },
    fallSilent() {
      isSilent = true;
    },
    mend() {
      isClosed = false;
      isSilent = false;
    },
    async close() {
      for (const socket of open) socket.destroy();
      await new Promise((resolve) => proxy.close(resolve));
    },
  };
}
