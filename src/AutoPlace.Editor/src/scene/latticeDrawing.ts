import { Group, Vector3 } from "three";
import { curveThrough } from "../model/curve.ts";
import { markOf, regionNames, regionsOf } from "../model/regions.ts";
import type { Joint, Line, PlacementDocument, Vec3 } from "../service/contract.ts";
import type { SceneFrame } from "./frame.ts";
import { shown, shownHex, type Inks } from "./inks.ts";
import { Marks, type Mark } from "./marks.ts";
import { Strands, type Strand } from "./strands.ts";

export interface LatticeLook {
  readonly region: string | null;
  readonly chosen: ReadonlySet<string>;
  readonly hovered: string | null;
  readonly rows: boolean;
  readonly columns: boolean;
  readonly joints: boolean;
  readonly landmarks: boolean;
  readonly landmark: string | null;
}

const faded = 0.14;
const steps = 8;

/** The lattice: rows and columns as curves, joints as marks of their region, landmarks, and circles about what is chosen. */
export class LatticeDrawing extends Group {
  readonly #strands = new Strands(10);
  readonly #rings = new Marks(16);
  readonly #marks = new Marks(20);
  readonly #landmarks = new Marks(30);
  #frame: SceneFrame | null = null;
  #document: PlacementDocument | null = null;
  #lines: { line: Line; row: boolean }[] = [];
  #index = new Map<string, number>();
  /** Where joints are shown, the scene's frame. */
  readonly places = new Map<string, Vector3>();
  readonly landmarkPlaces = new Map<string, Vector3>();
  #influence: { at: Vector3; radius: number } | null = null;
  #look: LatticeLook | null = null;
  #inks: Inks | null = null;

  constructor() {
    super();
    this.add(this.#strands, this.#rings, this.#marks, this.#landmarks);
  }

  get joints(): readonly Joint[] {
    return this.#document?.joints ?? [];
  }

  show(document: PlacementDocument, frame: SceneFrame, look: LatticeLook, inks: Inks): void {
    this.#document = document;
    this.#frame = frame;
    this.places.clear();
    this.landmarkPlaces.clear();
    document.joints.forEach((joint) => this.places.set(joint.name, frame.toScene(joint.position)));
    document.landmarks.forEach((landmark) => this.landmarkPlaces.set(landmark.name, frame.toScene(landmark.position)));
    this.#influence = null;
    this.restyle(look, inks);
  }

  restyle(look: LatticeLook, inks: Inks): void {
    const document = this.#document;
    this.#look = look;
    this.#inks = inks;
    if (document === null) {
      return;
    }

    const regions = new Map(document.joints.map((joint) => [joint.name, joint.region]));
    const further = regionsOf(document.joints).filter((region) => !(regionNames as readonly string[]).includes(region));
    const clear = (region: string | null): number => (look.region === null || look.region === region ? 1 : faded);

    this.#lines = [...(look.columns ? document.columns.map((line) => ({ line, row: false })) : []), ...(look.rows ? document.rows.map((line) => ({ line, row: true })) : [])];
    this.#strands.show(this.#lines.map(({ line, row }): Strand => {
      const of = line.joints.map((name) => regions.get(name) ?? null);
      const region = row ? majority(of) : null;
      const alpha = row ? clear(region) * 0.95 : 0.5 * (look.region === null || of.includes(look.region) ? 1 : faded);
      return { points: this.#curve(line), colour: row ? shownHex(markOf(region, further).colour) : shown(inks.loops), alpha, width: row ? 2 : 1.1 };
    }));

    const drawn = look.joints ? document.joints : document.joints.filter((joint) => look.chosen.has(joint.name));
    this.#index = new Map(drawn.map((joint, i) => [joint.name, i]));
    const [rim, chosen] = [shown(inks.rim), shown(inks.chosen)];
    this.#marks.setInks(rim, chosen);
    this.#rings.setInks(rim, chosen);
    this.#landmarks.setInks(rim, chosen);
    const unit = this.#frame?.unit ?? 1;
    this.#marks.show(drawn.map((joint): Mark => {
      const { colour, shape } = markOf(joint.region, further);
      return {
        position: this.#place(joint.name), colour: shownHex(colour), shape, radius: joint.radius90 / unit,
        alpha: look.chosen.has(joint.name) ? 1 : clear(joint.region), hollow: joint.state !== "modelled",
        locked: joint.lock.position || joint.lock.rotation, chosen: look.chosen.has(joint.name) || look.hovered === joint.name,
      };
    }));
    this.#landmarks.show(look.landmarks ? document.landmarks.map((landmark): Mark => ({
      position: this.landmarkPlaces.get(landmark.name) ?? new Vector3(), colour: shown(inks.landmark), shape: "cross", radius: 0.1, alpha: 1,
      hollow: false, locked: landmark.source === "lock", chosen: landmark.name === look.landmark,
    })) : []);
    this.#drawRings();
  }

  /** Shows joints elsewhere, without a new document: while they are dragged, or while the head moves. */
  preview(to: ReadonlyMap<string, Vector3>): void {
    for (const [name, position] of to) {
      this.places.get(name)?.copy(position);
      const index = this.#index.get(name);
      if (index !== undefined) {
        this.#marks.move(index, position);
      }
    }

    this.#lines.forEach(({ line }, i) => {
      if (line.joints.some((name) => to.has(name))) {
        this.#strands.move(i, this.#curve(line));
      }
    });
    if ([...(this.#look?.chosen ?? [])].some((name) => to.has(name))) {
      this.#drawRings();
    }
  }

  previewLandmark(name: string, position: Vector3): void {
    const index = this.#document?.landmarks.findIndex((landmark) => landmark.name === name) ?? -1;
    this.landmarkPlaces.get(name)?.copy(position);
    if (index >= 0) {
      this.#landmarks.move(index, position);
    }
  }

  /** Shows how far joints follow, as a circle. */
  setInfluence(circle: { at: Vector3; radius: number } | null): void {
    this.#influence = circle;
    this.#drawRings();
  }

  // The 90 % radius of what is chosen, true to scale, and the influence distance.
  #drawRings(): void {
    const [look, inks, unit] = [this.#look, this.#inks, this.#frame?.unit ?? 1];
    if (look === null || inks === null) {
      return;
    }

    const colour = shown(inks.chosen);
    const common = { colour, hollow: false, locked: false, chosen: false } as const;
    const about = this.joints.filter((joint) => (look.chosen.has(joint.name) && look.chosen.size <= 12) || joint.name === look.hovered);
    const rings = about.map((joint): Mark => ({ ...common, position: this.#place(joint.name), shape: "circle", radius: joint.radius90 / unit, alpha: 0.75 }));
    if (this.#influence !== null) {
      rings.push({ ...common, position: this.#influence.at, shape: "dashes", radius: this.#influence.radius, alpha: 1 });
    }

    this.#rings.show(rings);
  }

  #place(name: string): Vector3 {
    return this.places.get(name) ?? new Vector3();
  }

  #curve(line: Line): Vector3[] {
    // A fixed number of points, also where joints coincide: strands are moved in place.
    const corners = line.joints.map((name): Vec3 => {
      const { x, y, z } = this.#place(name);
      return [x, y, z];
    });
    const curve = curveThrough(corners, line.closed, steps).map((point) => new Vector3(...point));
    const count = (line.joints.length - (line.closed ? 0 : 1)) * steps + 1;
    const last = curve.at(-1) ?? new Vector3();
    return Array.from({ length: count }, (_, i) => curve[i] ?? last);
  }
}

function majority(regions: readonly (string | null)[]): string | null {
  const counts = new Map<string | null, number>();
  regions.forEach((region) => counts.set(region, (counts.get(region) ?? 0) + 1));
  return [...counts].sort((a, b) => b[1] - a[1])[0]?.[0] ?? null;
}
