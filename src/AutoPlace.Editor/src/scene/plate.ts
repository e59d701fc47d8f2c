import { Color, DirectionalLight, Group, HemisphereLight, Scene, Vector2, Vector3, WebGLRenderer } from "three";
import { directions, type ViewName } from "../model/views.ts";
import { Eye } from "./eye.ts";
import type { Inks } from "./inks.ts";
import { Marks } from "./marks.ts";
import { Strands } from "./strands.ts";

/** A part of the canvas with an eye of its own; CSS pixels from the upper left. */
export interface Pane {
  readonly view: ViewName;
  readonly eye: Eye;
  x: number;
  y: number;
  width: number;
  height: number;
}

/** A ray into the scene from a place on the canvas. */
export interface Ray {
  readonly pane: Pane;
  readonly origin: Vector3;
  readonly direction: Vector3;
}

const smallShare = 0.27;
const gap = 1;
/** Size of marks in the small panes, of that in the large one. */
const smallMarks = 0.65;

/** The canvas on which the head is shown: one large pane, or one large and three small ones; draws only when something changed. */
export class Plate {
  readonly canvas: HTMLCanvasElement;
  readonly scene = new Scene();
  /** What is in the scene's frame. */
  readonly content = new Group();
  panes: Pane[] = [];
  /** After a change of panes, or of what one of them sees. */
  onLayout: () => void = () => undefined;
  /** Time between frames that were both drawn. */
  onFrame: (ms: number) => void = () => undefined;

  readonly #renderer: WebGLRenderer;
  readonly #eyes = new Map<ViewName, Eye>();
  readonly #lamp = new DirectionalLight(0xffffff, 1.9);
  readonly #size = new Vector2(1, 1);
  #views: readonly ViewName[] = ["front"];
  #dirty = true;
  #lastFrame = 0;
  #gazes = "";
  #lastDrawn = false;
  #paper = new Color(0xffffff);
  #drawn: (() => void)[] = [];

  constructor(canvas: HTMLCanvasElement) {
    this.canvas = canvas;
    this.#renderer = new WebGLRenderer({ canvas, antialias: !drawsInSoftware() });
    this.#renderer.setPixelRatio(Math.min(2, devicePixelRatio));
    this.#renderer.autoClear = false;
    this.scene.add(this.content, this.#lamp, this.#lamp.target, new HemisphereLight(0xffffff, 0x8a8278, 1.5));
    new ResizeObserver(() => this.#resize()).observe(canvas.parentElement ?? canvas);
    canvas.addEventListener("webglcontextrestored", () => this.draw());
    this.#resize();
    requestAnimationFrame((now) => this.#frame(now));
  }

  /** Shows these views, the first one large. */
  setViews(views: readonly ViewName[]): void {
    this.#views = views;
    this.#layout();
  }

  setInks(inks: Inks): void {
    this.#paper = inks.paper;
    this.draw();
  }

  /** Has the plate drawn again before the next frame. */
  draw(): void {
    this.#dirty = true;
  }

  /** Resolves after everything that was asked for has been drawn. */
  whenDrawn(): Promise<void> {
    return new Promise((resolve) => {
      this.#drawn.push(resolve);
    });
  }

  eye(view: ViewName): Eye {
    const eye = this.#eyes.get(view) ?? new Eye(directions[view]);
    this.#eyes.set(view, eye);
    return eye;
  }

  paneAt(x: number, y: number): Pane | undefined {
    return this.panes.find((pane) => x >= pane.x && x < pane.x + pane.width && y >= pane.y && y < pane.y + pane.height);
  }

  /** A place of the scene on the canvas, CSS pixels. */
  project(position: Vector3, pane: Pane): { x: number; y: number; depth: number } {
    const p = position.clone().project(pane.eye.apply(pane.width / pane.height));
    return { x: pane.x + ((p.x + 1) / 2) * pane.width, y: pane.y + ((1 - p.y) / 2) * pane.height, depth: p.z };
  }

  /** The ray through a place on the canvas. */
  ray(pane: Pane, x: number, y: number): Ray {
    const { eye } = pane;
    const camera = eye.apply(pane.width / pane.height);
    const [u, v] = [((x - pane.x) / pane.width - 0.5) * eye.gaze.span * (pane.width / pane.height), (0.5 - (y - pane.y) / pane.height) * eye.gaze.span];
    const origin = camera.position.clone().addScaledVector(eye.right, u).addScaledVector(eye.up, v);
    return { pane, origin, direction: eye.direction };
  }

  /** A place moved in the plane of the view to where it's seen at a place on the canvas. */
  inPlane(place: Vector3, pane: Pane, x: number, y: number): Vector3 {
    const seen = this.project(place, pane);
    const perUnit = this.perUnit(pane);
    return place.clone().addScaledVector(pane.eye.right, (x - seen.x) / perUnit).addScaledVector(pane.eye.up, (seen.y - y) / perUnit);
  }

  /** CSS pixels of one interocular distance in a pane. */
  perUnit(pane: Pane): number {
    return pane.height / pane.eye.gaze.span;
  }

  #resize(): void {
    const box = (this.canvas.parentElement ?? this.canvas).getBoundingClientRect();
    this.#size.set(Math.max(1, Math.floor(box.width)), Math.max(1, Math.floor(box.height)));
    this.#renderer.setSize(this.#size.x, this.#size.y);
    this.#layout();
  }

  #layout(): void {
    const [width, height] = [this.#size.x, this.#size.y];
    const rest = this.#views.slice(1);
    const narrow = rest.length > 0 ? Math.round(width * smallShare) : 0;
    const [first] = this.#views;
    this.panes = first === undefined ? [] : [{ view: first, eye: this.eye(first), x: 0, y: 0, width: width - narrow - (narrow > 0 ? gap : 0), height }];
    rest.forEach((view, i) => {
      const [top, bottom] = [Math.round((height * i) / rest.length), Math.round((height * (i + 1)) / rest.length)];
      this.panes.push({ view, eye: this.eye(view), x: width - narrow, y: top + (i > 0 ? gap : 0), width: narrow, height: bottom - top - (i > 0 ? gap : 0) });
    });
    this.onLayout();
    this.draw();
  }

  #frame(now: number): void {
    requestAnimationFrame((next) => this.#frame(next));
    let flying = false;
    for (const pane of this.panes) {
      flying = pane.eye.advance(now) || flying;
    }

    const gazes = this.panes.map(({ eye: { gaze } }) => `${gaze.azimuth} ${gaze.elevation} ${gaze.span}`).join();
    if (gazes !== this.#gazes) {
      this.#gazes = gazes;
      this.onLayout();
    }

    if (this.#dirty || flying) {
      this.#dirty = flying;
      this.#render();
      if (this.#lastDrawn) {
        this.onFrame(now - this.#lastFrame);
      }

      this.#lastDrawn = true;
    } else {
      this.#lastDrawn = false;
    }

    if (!flying && !this.#dirty) {
      this.#drawn.splice(0).forEach((resolve) => resolve());
    }

    this.#lastFrame = now;
  }

  #render(): void {
    const renderer = this.#renderer;
    const grain = renderer.getPixelRatio();
    renderer.setScissorTest(false);
    renderer.setClearColor(this.#paper);
    renderer.clear();
    renderer.setScissorTest(true);
    for (const [i, pane] of this.panes.entries()) {
      if (pane.width < 1 || pane.height < 1) {
        continue; // the page is still being laid out
      }

      const camera = pane.eye.apply(pane.width / pane.height);
      const bottom = this.#size.y - pane.y - pane.height;
      renderer.setViewport(pane.x, bottom, pane.width, pane.height);
      renderer.setScissor(pane.x, bottom, pane.width, pane.height);
      // The lamp stays over the reader's left shoulder, as in a printed plate.
      this.#lamp.position.copy(camera.position).addScaledVector(pane.eye.right, -22).addScaledVector(pane.eye.up, 26);
      this.#lamp.target.position.copy(pane.eye.gaze.target);
      this.#lamp.target.updateMatrixWorld();
      this.content.traverse((object) => {
        if (object instanceof Marks) {
          object.setPane(pane.width * grain, pane.height * grain, this.perUnit(pane) * grain, i === 0 ? grain : grain * smallMarks);
        } else if (object instanceof Strands) {
          object.setPane(pane.width * grain, pane.height * grain, i === 0 ? grain : grain * smallMarks);
        }
      });
      renderer.render(this.scene, camera);
    }
  }
}

// Without a graphics processor, smoothing edges takes longer than everything else.
function drawsInSoftware(): boolean {
  const context = document.createElement("canvas").getContext("webgl2");
  const words = context?.getExtension("WEBGL_debug_renderer_info");
  const name = context == null || words == null ? "" : String(context.getParameter(words.UNMASKED_RENDERER_WEBGL));
  context?.getExtension("WEBGL_lose_context")?.loseContext();
  return /swiftshader|llvmpipe|software/i.test(name);
}
