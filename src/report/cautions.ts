/**
 * What to take care of (design, section 12), where cuttings and fruit are decided about.
 */
import { html, type Section } from './html.js';

export function cautionsSection(): Section {
  const body = html`<ul>
<li>Before cuttings leave the garden: moving or sharing them falls under local plant-health and plant-variety rules, which Pottag does not know and defers to.</li>
<li>Fig latex burns skin in sunlight: wear gloves when you cut, and wash.</li>
<li>Taste no fruit of a plant that was sprayed within the product’s waiting period, nor of a species whose seedlings may be poisonous.</li>
</ul>`;
  return { id: 'care', title: 'Care', plots: 0, body };
}
