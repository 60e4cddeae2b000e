import type { JSX } from 'preact';
import { useApp } from '../app.js';
import { hasCamera } from '../camera.js';
import { LatexCaution, ScreenFrame, TasteCaution } from '../parts.js';

export function AboutScreen(): JSX.Element {
  const { device, garden } = useApp();
  const plants = garden?.plants.length ?? 0;
  return (
    <ScreenFrame title="About this page">
      <p>
        What you record stands in the ledger under <b>{device.device}</b>.
      </p>
      <h2>Without reception</h2>
      <p>
        Go on: all is kept on this phone and sent, once, when the computer can be reached again.{' '}
        {plants > 0
          ? `The phone knows ${plants} plants by itself.`
          : 'This phone has no copy of the plants, so it finds them with reception only.'}
      </p>
      <p>
        {'serviceWorker' in navigator
          ? 'The page starts without reception too, once the browser trusts its certificate.'
          : 'Keep the page open: over plain http the browser cannot start it without reception.'}
      </p>
      {!hasCamera() && (
        <p>
          Over plain http the browser gives no live camera. Take photos of the tags, or serve with --https.
        </p>
      )}
      <h2>Care</h2>
      <LatexCaution />
      <TasteCaution />
      <p class="caution">
        Moving or sharing cuttings falls under local plant-health and plant-variety rules, which Pottag does
        not know and defers to.
      </p>
    </ScreenFrame>
  );
}
