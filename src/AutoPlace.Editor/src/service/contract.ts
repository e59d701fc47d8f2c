// What the service answers. Positions are in the head file's own coordinates and unit, rotations are (x, y, z, w) in its axes.

export type Vec3 = readonly [number, number, number];
export type Quat = readonly [number, number, number, number];

export interface HeadPart {
  readonly name: string;
  readonly vertices: number;
  readonly faces: number;
}

export interface Head {
  readonly id: string;
  readonly name: string;
  readonly bytes: number;
  readonly vertices: number;
  readonly faces: number;
  readonly parts: readonly HeadPart[];
  readonly metresPerUnit: number | null;
  readonly createdAt: string;
}

export interface DemoHead {
  readonly name: string;
  readonly bytes: number;
}

/** An error as application/problem+json. */
export interface Problem {
  readonly title?: string;
  readonly status?: number;
  readonly detail?: string;
  readonly element?: string;
  readonly reason?: string;
  readonly current?: number;
}

export type PlacementState = "queued" | "running" | "placed" | "failed" | "cancelled";

export interface Placement {
  readonly id: string;
  readonly headId: string;
  readonly state: PlacementState;
  readonly stage: string | null;
  readonly fraction: number;
  readonly createdAt: string;
  readonly finishedAt: string | null;
  readonly error: Problem | null;
  readonly revision: number | null;
  readonly placement?: PlacementDocument | null;
}

export type Side = "left" | "right" | "middle";

export interface Joint {
  readonly name: string;
  readonly region: string | null;
  readonly side: Side | null;
  readonly kind: "surface" | "pivot" | "row-parent" | "attachment" | "other";
  readonly parent: string | null;
  readonly position: Vec3;
  readonly rotation: Quat;
  readonly localSize: number;
  readonly state: "modelled" | "inferred" | "absent";
  readonly lift: number;
  readonly radius90: number;
  readonly lock: { readonly position: boolean; readonly rotation: boolean };
}

export interface Landmark {
  readonly name: string;
  readonly position: Vec3;
  readonly radius90: number;
  readonly source: "network" | "sphere-fit" | "lock" | "inferred";
}

export interface Line {
  readonly name: string;
  readonly joints: readonly string[];
  readonly closed: boolean;
}

export interface Finding {
  readonly check: string;
  readonly severity: "info" | "warning" | "error";
  readonly subject: string;
  readonly value: number;
  readonly limit: number;
  readonly unit: string;
  readonly message: string;
}

export interface HeadFrame {
  readonly origin: Vec3;
  readonly left: Vec3;
  readonly up: Vec3;
  readonly front: Vec3;
}

/** placement.json, as far as the page reads it. */
export interface PlacementDocument {
  readonly head: {
    readonly source: string;
    readonly metresPerUnit: number | null;
    readonly interocularDistance: number;
    readonly frame: HeadFrame;
    readonly needsPerson: { readonly probability: number; readonly reasons: readonly string[] };
  };
  readonly template: { readonly name: string; readonly version: string; readonly lattice: string };
  readonly landmarks: readonly Landmark[];
  readonly joints: readonly Joint[];
  readonly rows: readonly Line[];
  readonly columns: readonly Line[];
  readonly findings: readonly Finding[];
}

/** Whole, as the service keeps them, so that they can be compared. */
export type Edit =
  | { readonly kind: "moveJoint"; readonly joint: string; readonly position: Vec3; readonly alongSkin: boolean; readonly influence: number | null; readonly carriesChildren: boolean }
  | { readonly kind: "turnJoint"; readonly joint: string; readonly rotation: Quat }
  | { readonly kind: "lockJoint"; readonly joint: string; readonly position: boolean; readonly rotation: boolean; readonly bodyRig: boolean }
  | { readonly kind: "unlockJoint"; readonly joint: string; readonly position: boolean; readonly rotation: boolean }
  | { readonly kind: "mirrorJoints"; readonly joints: readonly string[]; readonly by: "plane" | "topology" }
  | { readonly kind: "moveLandmark"; readonly landmark: string; readonly position: Vec3 }
  | { readonly kind: "unlockLandmark"; readonly landmark: string }
  | { readonly kind: "rowToLoop"; readonly row: string; readonly point: Vec3 }
  | { readonly kind: "pivotToPart"; readonly joint: string; readonly part: string; readonly point: Vec3 }
  | { readonly kind: "restore"; readonly revision: number }
  /** Only in revisions that were made from a file. */
  | { readonly kind: "import" };

export interface Revision {
  readonly number: number;
  readonly base: number | null;
  readonly createdAt: string;
  readonly name: string | null;
  readonly note: string | null;
  readonly restores: number | null;
  readonly edits: readonly Edit[];
  readonly solveMs: number;
}

export interface RevisionAnswer {
  readonly revision: Revision;
  readonly placement: PlacementDocument;
}

export interface RevisionList {
  readonly current: number;
  readonly revisions: readonly Revision[];
}

/** looks.json: the joints in the order in which looking at them gains most. */
export interface LookList {
  readonly looks: readonly { readonly joint: string; readonly gain: number }[];
}

export interface NetworkView {
  readonly n: number;
  readonly name: string;
  readonly width: number;
  readonly height: number;
  readonly landmarks: readonly { readonly name: string; readonly x: number; readonly y: number; readonly radius90: number }[];
}

export const fileNames = ["placement.json", "corrections.json", "joints.csv", "placement.glb", "lattice.png"] as const;
export type FileName = (typeof fileNames)[number];

export interface Template {
  readonly id: string;
  readonly name: string;
  readonly version: string;
  readonly joints: number;
  readonly builtIn: boolean;
}

export interface PlacementOptions {
  readonly lattice?: "full" | "reduced";
  readonly symmetric?: boolean;
  readonly template?: string | null;
}
