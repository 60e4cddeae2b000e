/**
 * A page's content stream in the making, as bytes: a sheet has hundreds of thousands of numbers, and as
 * strings they would keep the garbage collector busier than all the drawing.
 */

const ZERO = 0x30;
const SPACE = 0x20;

export class Content {
  #bytes = new Uint8Array(1 << 16);
  #length = 0;

  /** Appends operators; ASCII only. */
  add(text: string): void {
    this.#reserve(text.length);
    for (let index = 0; index < text.length; index++) this.#bytes[this.#length++] = text.charCodeAt(index);
  }

  /** Fills rectangles, given as x, y, width, height (whole, 0 or more) one after the other, in one path. */
  fillRectangles(numbers: readonly number[]): void {
    // Ten digits hold any 32-bit number.
    this.#reserve(numbers.length * 12);
    for (let index = 0; index < numbers.length; index++) {
      this.#whole(numbers[index] ?? 0);
      this.#bytes[this.#length++] = SPACE;
      if (index % 4 === 3) this.add('re\n');
    }
    this.add('f\n');
  }

  /** What was drawn; the next page begins empty. */
  take(): Uint8Array {
    const taken = this.#bytes.slice(0, this.#length);
    this.#length = 0;
    return taken;
  }

  #whole(value: number): void {
    let scale = 1;
    while (scale * 10 <= value) scale *= 10;
    for (let rest = value; scale >= 1; scale /= 10) {
      const digit = Math.floor(rest / scale);
      this.#bytes[this.#length++] = ZERO + digit;
      rest -= digit * scale;
    }
  }

  #reserve(count: number): void {
    if (this.#length + count <= this.#bytes.length) return;
    const larger = new Uint8Array(2 * (this.#length + count));
    larger.set(this.#bytes.subarray(0, this.#length));
    this.#bytes = larger;
  }
}
