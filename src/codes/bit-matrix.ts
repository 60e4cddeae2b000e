/** A square of dark and light modules that nobody can change. */
export class BitMatrix {
  readonly size: number;
  /** Row by row, 32 modules a word, the first module in the lowest bit. */
  readonly #words: Uint32Array;

  /** @param words row by row, 32 modules a word, lowest bit first; taken over, not copied */
  constructor(size: number, words: Uint32Array) {
    this.size = size;
    this.#words = words;
  }

  /** Builds a matrix from one truthy or falsy value a module, row by row. */
  static fromModules(size: number, modules: ArrayLike<number>): BitMatrix {
    const words = new Uint32Array(Math.ceil((size * size) / 32));
    for (let index = 0; index < size * size; index++) {
      if (modules[index]) words[index >> 5] = (words[index >> 5] ?? 0) | (1 << (index & 31));
    }
    return new BitMatrix(size, words);
  }

  /** Whether a module is dark; row and column count from 0, and all outside the square is light. */
  dark(row: number, column: number): boolean {
    if (row < 0 || column < 0 || row >= this.size || column >= this.size) return false;
    const index = row * this.size + column;
    return (((this.#words[index >> 5] ?? 0) >>> (index & 31)) & 1) === 1;
  }
}
