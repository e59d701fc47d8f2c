import { Group } from "three";
import { distanceColour, type Difference } from "../model/comparison.ts";
import type { SceneFrame } from "./frame.ts";
import { shown, type Inks } from "./inks.ts";
import { Marks, type Mark } from "./marks.ts";
import { Strands } from "./strands.ts";

/** Where joints are in another placement: a disc of the distance's colour there, and a line from it to the joint. */
export class DifferenceDrawing extends Group {
  readonly #strands = new Strands(12);
  readonly #marks = new Marks(24);

  constructor() {
    super();
    this.add(this.#strands, this.#marks);
  }

  show(differences: readonly Difference[], most: number, frame: SceneFrame, inks: Inks): void {
    const moved = differences.filter((difference) => difference.distance > 1e-5 * frame.unit);
    const colour = (difference: Difference): [number, number, number] => {
      const [r, g, b] = distanceColour(difference.distance, most);
      return [r / 255, g / 255, b / 255];
    };
    this.#marks.setInks(shown(inks.rim), shown(inks.chosen));
    this.#marks.show(moved.map((difference): Mark => ({
      position: frame.toScene(difference.from), colour: colour(difference), shape: "disc", radius: 0.01, alpha: 1, hollow: false, locked: false, chosen: false,
    })));
    this.#strands.show(moved.map((difference) => ({
      points: [frame.toScene(difference.from), frame.toScene(difference.to)], colour: colour(difference), alpha: 1, width: 3,
    })));
  }
}
