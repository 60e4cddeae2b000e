import type { JSX } from 'preact';
import { useEffect, useState } from 'preact/hooks';
import type { DeviceView } from '../../views.js';
import { Refused, send } from '../ask.js';

interface PairProps {
  /** The device as it was known before it was forgotten. */
  readonly before: DeviceView | undefined;
  readonly waiting: number;
  readonly onPaired: (device: DeviceView) => void;
}

/** The code out of the QR code that the computer shows; it never leaves the page's address. */
const codeInAddress = () => /^#pair=(\w+)$/.exec(location.hash)?.[1] ?? '';

export function PairScreen({ before, waiting, onPaired }: PairProps): JSX.Element {
  const [code, setCode] = useState(codeInAddress);
  const [name, setName] = useState(before?.device ?? '');
  const [problem, setProblem] = useState('');
  useEffect(() => {
    document.title = 'Pair this phone · Pottag';
  }, []);

  const pair = async () => {
    setProblem('');
    try {
      const device = await send<DeviceView>('/api/pair', { code, name });
      history.replaceState(null, '', location.pathname);
      onPaired(device);
    } catch (error) {
      setProblem(
        error instanceof Refused ? `${error.message} ${error.hint}` : 'The computer cannot be reached.',
      );
    }
  };
  return (
    <main>
      <h1>Pair this phone</h1>
      {before !== undefined && (
        <p class="warning">
          The computer does not know this phone any more.
          {waiting > 0 && ` ${waiting} kept on it will be sent when it is paired again.`}
        </p>
      )}
      <p>Once, with the code that the computer shows. Press Enter there for a new one.</p>
      <form
        onSubmit={(event) => {
          event.preventDefault();
          void pair();
        }}
      >
        <label for="code">Code</label>
        <input
          id="code"
          class="code"
          value={code}
          onInput={({ currentTarget }) => setCode(currentTarget.value)}
          autocomplete="off"
          autocapitalize="characters"
          spellcheck={false}
          required
        />
        <label for="name">Your name, as it will stand beside what you record</label>
        <input
          id="name"
          value={name}
          maxLength={40}
          onInput={({ currentTarget }) => setName(currentTarget.value)}
          autocomplete="nickname"
          required
        />
        <p role="alert" class="problem">
          {problem}
        </p>
        <button type="submit" class="action main">
          Pair
        </button>
      </form>
    </main>
  );
}
