import {
  Group, GreaterDepth, InstancedBufferAttribute, InstancedBufferGeometry, LessEqualDepth, Mesh, ShaderMaterial, BufferAttribute, Vector2, Vector3,
  type DepthModes,
} from "three";
import type { Shape } from "../model/regions.ts";

/** One mark: a joint, a landmark or a circle about one. */
export interface Mark {
  readonly position: Vector3;
  /** As shown, 0 to 1. */
  readonly colour: readonly [number, number, number];
  readonly shape: Shape | "cross" | "circle" | "dashes";
  /** Radius, interocular distances. */
  readonly radius: number;
  readonly alpha: number;
  readonly hollow: boolean;
  readonly locked: boolean;
  readonly chosen: boolean;
}

const shapeCodes: Record<Mark["shape"], number> = { disc: 0, square: 1, diamond: 2, triangle: 3, cross: 4, circle: 5, dashes: 6 };

const vertexShader = /* glsl */ `
  attribute vec3 centre;
  attribute vec4 ink;
  attribute vec4 look; // shape, radius, 1 hollow + 2 locked + 4 chosen
  uniform vec2 pixels;      // of the pane
  uniform float perUnit;    // pixels of one interocular distance
  uniform float grain;      // device pixels of one pixel
  uniform float lift;       // towards the eye, normalized depth
  varying vec2 place;
  varying float reach;
  varying vec4 tint;
  varying vec3 kind;
  void main() {
    bool circle = look.x > 4.5;
    bool chosen = look.z > 3.5;
    float size = circle ? look.y * perUnit : clamp(look.y * perUnit, 3.1 * grain, 7.5 * grain) + (chosen ? 1.5 * grain : 0.0);
    reach = size;
    float border = 3.0 * grain;
    place = position.xy * (size + border);
    tint = ink;
    kind = vec3(look.x, look.z, look.w);
    gl_Position = projectionMatrix * viewMatrix * modelMatrix * vec4(centre, 1.0);
    gl_Position.xy += place * 2.0 / pixels;
    gl_Position.z -= lift;
  }
`;

const fragmentShader = /* glsl */ `
  uniform vec3 rim;
  uniform vec3 chosenInk;
  uniform float grain;
  uniform float strength;
  varying vec2 place;
  varying float reach;
  varying vec4 tint;
  varying vec3 kind;

  // Signed distances to the shapes in pixels, negative inside; areas are about alike.
  float outline(float shape, vec2 p, float r) {
    if (shape < 0.5) { return length(p) - r; }
    if (shape < 1.5) { vec2 d = abs(p) - r * 0.86; return max(d.x, d.y); }
    if (shape < 2.5) { return (abs(p.x) + abs(p.y) - r * 1.22) * 0.7071; }
    if (shape < 3.5) {
      p.y += r * 0.18;
      return max(max(dot(p, vec2(0.866, 0.5)), dot(p, vec2(-0.866, 0.5))) - r * 0.66, -p.y - r * 0.66);
    }
    vec2 a = abs(p);
    return max(min(a.x, a.y) - 0.9 * grain, max(a.x, a.y) - r);
  }

  void main() {
    float flags = kind.y;
    bool chosen = flags > 3.5;
    bool locked = mod(flags, 4.0) > 1.5;
    bool hollow = mod(flags, 2.0) > 0.5;
    vec4 result;
    if (kind.x > 4.5) {
      float d = abs(length(place) - reach) - 0.7 * grain;
      float ring = 1.0 - smoothstep(-0.5, 0.5, d / grain);
      float gap = kind.x > 5.5 ? step(0.45, fract(atan(place.y, place.x) * 6.3662)) : 1.0;
      float inside = kind.x > 5.5 ? 0.0 : 0.10 * (1.0 - smoothstep(-0.5, 0.5, length(place) - reach));
      result = vec4(tint.rgb, max(ring * gap, inside) * tint.a);
    } else {
      float d = outline(kind.x, place, reach) / grain;
      float width = chosen ? 2.2 : 1.1;
      float cover = 1.0 - smoothstep(-0.5, 0.5, d - width);
      float edge = smoothstep(-0.5, 0.5, d);
      vec3 border = chosen ? chosenInk : rim;
      vec3 fill = tint.rgb;
      if (hollow && kind.x < 3.5) {
        float open = 1.0 - smoothstep(-0.5, 0.5, d + 1.8);
        fill = mix(fill, rim, open);
      }
      if (locked) {
        float dot_ = 1.0 - smoothstep(-0.5, 0.5, length(place) / grain - 1.7);
        fill = mix(fill, hollow ? tint.rgb : rim, dot_);
      }
      result = vec4(mix(fill, border, edge), cover * tint.a);
    }
    result.a *= strength;
    if (result.a < 0.01) { discard; }
    gl_FragColor = result;
  }
`;

/** Marks that face the eye, all in one draw; what lies behind the skin shows through faintly. */
export class Marks extends Group {
  readonly #materials: ShaderMaterial[] = [];
  readonly #meshes: Mesh[] = [];
  #centre = new InstancedBufferAttribute(new Float32Array(0), 3);

  constructor(order: number) {
    super();
    this.#pass(GreaterDepth, 0.22, order);
    this.#pass(LessEqualDepth, 1, order + 1);
  }

  #pass(depthFunc: DepthModes, strength: number, order: number): void {
    const material = new ShaderMaterial({
      vertexShader, fragmentShader, depthFunc, depthWrite: false, transparent: true,
      uniforms: {
        pixels: { value: new Vector2(1, 1) }, perUnit: { value: 1 }, grain: { value: 1 }, lift: { value: 0.002 },
        rim: { value: new Vector3(1, 1, 1) }, chosenInk: { value: new Vector3() }, strength: { value: strength },
      },
    });
    const mesh = new Mesh(quads(), material);
    mesh.frustumCulled = false;
    mesh.renderOrder = order;
    this.#materials.push(material);
    this.#meshes.push(mesh);
    this.add(mesh);
  }

  /** Shows other marks. */
  show(marks: readonly Mark[]): void {
    const [ink, look] = [new Float32Array(marks.length * 4), new Float32Array(marks.length * 4)];
    this.#centre = new InstancedBufferAttribute(new Float32Array(marks.length * 3), 3);
    marks.forEach((mark, i) => {
      mark.position.toArray(this.#centre.array, 3 * i);
      ink.set([...mark.colour, mark.alpha], 4 * i);
      look.set([shapeCodes[mark.shape], mark.radius, Number(mark.hollow) + 2 * Number(mark.locked) + 4 * Number(mark.chosen), 0], 4 * i);
    });
    const geometry = quads();
    geometry.setAttribute("centre", this.#centre);
    geometry.setAttribute("ink", new InstancedBufferAttribute(ink, 4));
    geometry.setAttribute("look", new InstancedBufferAttribute(look, 4));
    geometry.instanceCount = marks.length;
    for (const mesh of this.#meshes) {
      mesh.geometry.dispose();
      mesh.geometry = geometry;
    }

    this.visible = marks.length > 0;
  }

  /** Moves one mark; `show` gave it its index. */
  move(index: number, position: Vector3): void {
    position.toArray(this.#centre.array, 3 * index);
    this.#centre.needsUpdate = true;
  }

  setInks(rim: readonly [number, number, number], chosen: readonly [number, number, number]): void {
    for (const material of this.#materials) {
      (material.uniforms["rim"]?.value as Vector3).set(...rim);
      (material.uniforms["chosenInk"]?.value as Vector3).set(...chosen);
    }
  }

  /** Before a pane is drawn: its size and the scale it is drawn at, in device pixels. */
  setPane(width: number, height: number, perUnit: number, grain: number): void {
    for (const { uniforms } of this.#materials) {
      (uniforms["pixels"]?.value as Vector2).set(width, height);
      Object.assign(uniforms["perUnit"] ?? {}, { value: perUnit });
      Object.assign(uniforms["grain"] ?? {}, { value: grain });
    }
  }
}

// The renderer remembers how many instances a geometry had when it first drew it, so each number gets a geometry of its own.
function quads(): InstancedBufferGeometry {
  const geometry = new InstancedBufferGeometry();
  geometry.setAttribute("position", new BufferAttribute(new Float32Array([-1, -1, 0, 1, -1, 0, 1, 1, 0, -1, 1, 0]), 3));
  geometry.setIndex([0, 1, 2, 0, 2, 3]);
  geometry.instanceCount = 0;
  return geometry;
}
