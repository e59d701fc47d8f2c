import {
  BufferAttribute, GreaterDepth, Group, InstancedBufferGeometry, InstancedInterleavedBuffer, InterleavedBufferAttribute, LessEqualDepth, Mesh,
  ShaderMaterial, Vector2, type DepthModes, type Vector3,
} from "three";

/** A polyline with one colour and width. */
export interface Strand {
  readonly points: readonly Vector3[];
  readonly colour: readonly [number, number, number];
  readonly alpha: number;
  /** Pixels. */
  readonly width: number;
}

const vertexShader = /* glsl */ `
  attribute vec3 from;
  attribute vec3 to;
  attribute vec4 ink;
  attribute float width;
  uniform vec2 pixels;
  uniform float grain;
  uniform float lift;
  varying vec4 tint;
  varying float across;
  varying float half_;
  void main() {
    vec4 a = projectionMatrix * viewMatrix * modelMatrix * vec4(from, 1.0);
    vec4 b = projectionMatrix * viewMatrix * modelMatrix * vec4(to, 1.0);
    vec2 along = (b.xy - a.xy) * pixels;
    along = length(along) > 0.0 ? normalize(along) : vec2(1.0, 0.0);
    half_ = 0.5 * width * grain;
    across = position.x * (half_ + grain);
    gl_Position = position.y < 0.5 ? a : b;
    gl_Position.xy += (vec2(-along.y, along.x) * across + along * (position.y - 0.5) * grain) * 2.0 / pixels;
    gl_Position.z -= lift;
    tint = ink;
  }
`;

const fragmentShader = /* glsl */ `
  uniform float grain;
  uniform float strength;
  varying vec4 tint;
  varying float across;
  varying float half_;
  void main() {
    float cover = 1.0 - smoothstep(-0.5, 0.5, (abs(across) - half_) / grain);
    gl_FragColor = vec4(tint.rgb, tint.a * cover * strength);
    if (gl_FragColor.a < 0.01) { discard; }
  }
`;

const stride = 11;

/** Polylines of given widths in one draw; behind the skin they show through faintly. */
export class Strands extends Group {
  readonly #materials: ShaderMaterial[] = [];
  readonly #meshes: Mesh[] = [];
  #buffer = new InstancedInterleavedBuffer(new Float32Array(0), stride);
  #starts: number[] = [];

  constructor(order: number) {
    super();
    this.#pass(GreaterDepth, 0.16, order);
    this.#pass(LessEqualDepth, 1, order + 1);
  }

  #pass(depthFunc: DepthModes, strength: number, order: number): void {
    const material = new ShaderMaterial({
      vertexShader, fragmentShader, depthFunc, depthWrite: false, transparent: true, side: 2,
      uniforms: { pixels: { value: new Vector2(1, 1) }, grain: { value: 1 }, lift: { value: 0.0015 }, strength: { value: strength } },
    });
    const mesh = new Mesh(segments(), material);
    mesh.frustumCulled = false;
    mesh.renderOrder = order;
    this.#materials.push(material);
    this.#meshes.push(mesh);
    this.add(mesh);
  }

  show(strands: readonly Strand[]): void {
    const count = strands.reduce((sum, strand) => sum + Math.max(0, strand.points.length - 1), 0);
    this.#buffer = new InstancedInterleavedBuffer(new Float32Array(count * stride), stride);
    this.#starts = [];
    let at = 0;
    for (const strand of strands) {
      this.#starts.push(at);
      for (let k = 1; k < strand.points.length; k++, at++) {
        this.#buffer.array.set([...strand.colour, strand.alpha, strand.width], at * stride + 6);
      }
    }

    const attribute = (size: number, offset: number): InterleavedBufferAttribute => new InterleavedBufferAttribute(this.#buffer, size, offset);
    const geometry = segments();
    geometry.setAttribute("from", attribute(3, 0));
    geometry.setAttribute("to", attribute(3, 3));
    geometry.setAttribute("ink", attribute(4, 6));
    geometry.setAttribute("width", attribute(1, 10));
    geometry.instanceCount = count;
    for (const mesh of this.#meshes) {
      mesh.geometry.dispose();
      mesh.geometry = geometry;
    }

    this.visible = count > 0;
    strands.forEach((strand, i) => this.move(i, strand.points));
  }

  /** Moves one strand; it keeps its number of points. */
  move(index: number, points: readonly Vector3[]): void {
    const start = this.#starts[index] ?? 0;
    for (let k = 1; k < points.length; k++) {
      points[k - 1]?.toArray(this.#buffer.array, (start + k - 1) * stride);
      points[k]?.toArray(this.#buffer.array, (start + k - 1) * stride + 3);
    }

    this.#buffer.needsUpdate = true;
  }

  setPane(width: number, height: number, grain: number): void {
    for (const { uniforms } of this.#materials) {
      (uniforms["pixels"]?.value as Vector2).set(width, height);
      Object.assign(uniforms["grain"] ?? {}, { value: grain });
    }
  }
}

// The renderer remembers how many instances a geometry had when it first drew it, so each number gets a geometry of its own.
function segments(): InstancedBufferGeometry {
  const geometry = new InstancedBufferGeometry();
  geometry.setAttribute("position", new BufferAttribute(new Float32Array([-1, 0, 0, 1, 0, 0, 1, 1, 0, -1, 1, 0]), 3));
  geometry.setIndex([0, 1, 2, 0, 2, 3]);
  geometry.instanceCount = 0;
  return geometry;
}
