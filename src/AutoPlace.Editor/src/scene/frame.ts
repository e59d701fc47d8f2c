import { Matrix4, Vector3 } from "three";
import type { PlacementDocument, Vec3 } from "../service/contract.ts";

/**
 * The scene is in the head's frame: origin between the eyes, x to the subject's left, y up, z to the front, lengths in
 * interocular distances, whatever unit and axes the file has. This is the way there and back.
 */
export class SceneFrame {
  readonly fileToScene: Matrix4;
  readonly sceneToFile: Matrix4;
  /** Interocular distance in the file's unit: the file's length of one unit of the scene. */
  readonly unit: number;

  constructor(document: PlacementDocument) {
    const { origin, left, up, front } = document.head.frame;
    this.unit = document.head.interocularDistance;
    this.sceneToFile = new Matrix4()
      .makeBasis(new Vector3(...left), new Vector3(...up), new Vector3(...front))
      .scale(new Vector3(this.unit, this.unit, this.unit))
      .setPosition(...origin);
    this.fileToScene = this.sceneToFile.clone().invert();
  }

  toScene(position: Vec3): Vector3 {
    return new Vector3(...position).applyMatrix4(this.fileToScene);
  }

  toFile(position: Vector3): Vec3 {
    const { x, y, z } = position.clone().applyMatrix4(this.sceneToFile);
    return [x, y, z];
  }
}
