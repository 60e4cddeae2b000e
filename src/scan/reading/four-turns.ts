/** How well a picture agrees with a tag that lies in a place in any of four ways, which of them nobody knows yet. */
import { fitTiles, type Probe } from './agreement.js';
import { levelAt, type Plane } from './plane.js';
import { type GridPoints, type Pose, placePoints } from './pose.js';
import { CELLS, GRID, turnedCell, VARYING } from './tag-grid.js';

export class FourTurns {
  readonly #probe: Probe;
  /** For each way, the cell of the grid as it is seen that each point of the probe comes from. */
  readonly #sources: readonly Int32Array[];
  readonly #grid: GridPoints;
  readonly #xs = new Float64Array(CELLS);
  readonly #ys = new Float64Array(CELLS);

  /** @param probe of one point a known cell */
  constructor(known: Int8Array, probe: Probe) {
    this.#probe = probe;
    const cells = Int32Array.from(known.keys()).filter((cell) => known[cell] !== VARYING);
    const turns = [cells];
    for (let turn = 1; turn < 4; turn++) turns.push((turns[turn - 1] as Int32Array).map(turnedCell));
    this.#sources = turns;
    const middle = (index: number): number => (2 * (index + 0.5)) / GRID - 1;
    this.#grid = {
      u: Float64Array.from({ length: CELLS }, (_, cell) => middle(cell % GRID)),
      v: Float64Array.from({ length: CELLS }, (_, cell) => middle(Math.floor(cell / GRID))),
    };
  }

  /** Scores as `Sampler.fit` gives for `turnedPose(pose, 0 … 3)`, from one look at the picture. */
  scores(plane: Plane, pose: Pose): number[] {
    placePoints(pose, this.#grid, this.#xs, this.#ys);
    const seen = new Float64Array(CELLS);
    for (let cell = 0; cell < CELLS; cell++) {
      seen[cell] = levelAt(plane, this.#xs[cell] as number, this.#ys[cell] as number);
    }
    const levels = new Float64Array(this.#probe.u.length);
    return this.#sources.map((sources) => {
      for (let point = 0; point < levels.length; point++)
        levels[point] = seen[sources[point] as number] as number;
      return fitTiles(this.#probe, levels).score;
    });
  }
}
