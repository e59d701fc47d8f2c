import type { Edit, Joint, PlacementDocument, Revision, Vec3 } from "../src/service/contract.ts";

export function revision(number: number, base: number | null, restores: number | null = null, edits: readonly Edit[] = []): Revision {
  return { number, base, restores, edits, createdAt: "", name: null, note: null, solveMs: 0 };
}

export function joint(name: string, position: Vec3, change: Partial<Joint> = {}): Joint {
  return {
    name, position, region: "lip", side: "left", kind: "surface", parent: null, rotation: [0, 0, 0, 1], localSize: 1, state: "modelled", lift: 0, radius90: 1,
    lock: { position: false, rotation: false }, ...change,
  };
}

export function move(name: string, position: Vec3): Edit {
  return { kind: "moveJoint", joint: name, position, alongSkin: true, influence: null, carriesChildren: false };
}

export function placement(joints: readonly Joint[], change: Partial<PlacementDocument> = {}): PlacementDocument {
  return {
    head: { source: "a.glb", metresPerUnit: 0.01, interocularDistance: 6, frame: { origin: [0, 0, 0], left: [1, 0, 0], up: [0, 1, 0], front: [0, 0, 1] }, needsPerson: { probability: 0, reasons: [] } },
    template: { name: "built-in", version: "1", lattice: "full" }, landmarks: [], joints, rows: [], columns: [], findings: [], ...change,
  };
}
