import fc from 'fast-check';
import { parseHTML } from 'linkedom';
import { describe, expect, it } from 'vitest';
import { draw } from '../../src/report/draw.js';
import { html, listed, name, table } from '../../src/report/html.js';

fc.configureGlobal({ seed: 20261125 });

/** Any text that holds no control character: those are replaced. */
const text = fc.string({ unit: 'grapheme' }).map((value) => value.replaceAll(/\p{Cc}/gu, ''));

function parsed(markup: string) {
  return parseHTML(`<!doctype html><html><body>${markup}</body></html>`).document.body;
}

describe('html', () => {
  it('gives back any text as text, in elements and in attributes', () => {
    fc.assert(
      fc.property(text, (value) => {
        const body = parsed(html`<p title="${value}">${value}</p>`.text);
        expect(body.children.length).toBe(1);
        expect(body.firstElementChild?.textContent).toBe(value);
        expect(body.firstElementChild?.getAttribute('title')).toBe(value);
      }),
    );
  });

  it('keeps what could be markup from being it', () => {
    const hostile = `</p><script>alert("1")</script><img src=x onerror='alert(1)'>&lt;`;
    const body = parsed(
      html`<p>${hostile}</p>${name(hostile)}${table(hostile, [hostile], [[hostile]])}`.text,
    );
    expect(body.querySelectorAll('script, img')).toHaveLength(0);
    expect(body.querySelector('p')?.textContent).toBe(hostile);
    expect(body.querySelector('th[scope=row]')?.textContent).toBe(hostile);
  });

  it('replaces control characters, which HTML does not allow', () => {
    expect(html`${'a\u0000b\u001b[31m\nc'}`.text).toBe('a\ufffdb\ufffd[31m\nc');
  });

  it('lists as one writes it', () => {
    expect(['a', 'b', 'c'].map((_, count) => listed(['a', 'b', 'c'].slice(0, count + 1)).text)).toEqual([
      'a',
      'a and b',
      'a, b and c',
    ]);
  });
});

describe('a plot', () => {
  it('says what it is to those who do not see it, and holds hostile text as text', () => {
    const hostile = '</title></svg><script>alert(1)</script>';
    const body = parsed(
      draw({ id: 'x', title: hostile, description: hostile }, { y: { domain: [hostile] }, marks: [] }).text,
    );
    const svg = body.querySelector('svg');
    expect(body.children.length).toBe(1);
    expect(svg?.getAttribute('role')).toBe('img');
    expect(body.querySelector(`#${svg?.getAttribute('aria-labelledby')}`)?.textContent).toBe(hostile);
    expect(body.querySelector(`#${svg?.getAttribute('aria-describedby')}`)?.textContent).toBe(hostile);
    expect(body.querySelectorAll('script, style')).toHaveLength(0);
  });
});
