// Reads the GLB files named on the command line with three.js and prints, for each on a line of its own, where it puts
// every node that has a name and every vertex of every mesh, in world coordinates, skins and morph targets applied.
import { readFileSync } from "node:fs";
import { Mesh, Vector3 } from "three";
import { GLTFLoader } from "three/addons/loaders/GLTFLoader.js";

for (const path of process.argv.slice(2)) {
  const bytes = readFileSync(path);
  const content = bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.byteLength);
  const { scene, animations } = await new GLTFLoader().parseAsync(content, "");
  scene.updateMatrixWorld(true);
  const nodes = [];
  const meshes = [];
  scene.traverse((object) => {
    // The loader makes names unique and fit for animation paths; the file's own stands in userData.
    const name = object.userData.name ?? object.name;
    if (object instanceof Mesh) {
      const positions = [];
      for (let v = 0; v < object.geometry.attributes.position.count; v++) {
        positions.push(...object.localToWorld(object.getVertexPosition(v, new Vector3())).toArray());
      }
      meshes.push({ name, skinned: object.isSkinnedMesh === true, positions });
    } else if (name) {
      nodes.push({ name, parent: object.parent?.userData.name ?? object.parent?.name, position: object.getWorldPosition(new Vector3()).toArray() });
    }
  });
  console.log(JSON.stringify({ nodes, meshes, animations: animations.map((a) => a.name) }));
}
