import { Box3, Vector3 } from "three";
import { untilAnswered } from "../model/away.ts";
import { differences } from "../model/comparison.ts";
import { Latest } from "../model/latest.ts";
import { state, type Shown } from "../model/state.ts";
import { countFrame } from "../model/stats.ts";
import { complain } from "../model/session.ts";
import { directions, type ViewName } from "../model/views.ts";
import { service } from "../service/client.ts";
import { DifferenceDrawing } from "./differenceDrawing.ts";
import { wholeHead, type Eye, type Gaze } from "./eye.ts";
import { SceneFrame } from "./frame.ts";
import { HeadModel } from "./headModel.ts";
import { readInks, type Inks } from "./inks.ts";
import { LatticeDrawing, type LatticeLook } from "./latticeDrawing.ts";
import { MotionRig, rest, type Pose } from "./motionRig.ts";
import { Plate } from "./plate.ts";

const fourViews: readonly ViewName[] = ["front", "left", "three-quarter", "below"];

/** Keeps the plate showing what the state says. */
export class SceneView {
  readonly plate: Plate;
  readonly lattice = new LatticeDrawing();
  readonly #difference = new DifferenceDrawing();
  head: HeadModel | null = null;
  frame: SceneFrame | null = null;
  hovered: string | null = null;
  readonly #heads = new Latest();
  readonly #rigs = new Latest();
  #rig: MotionRig | null = null;
  #pose: Pose = rest;
  #inks: Inks;
  #treesReady = false;
  #fitted = new WeakSet<Eye>();
  onRig: (rig: MotionRig | null) => void = () => undefined;

  constructor(canvas: HTMLCanvasElement) {
    this.plate = new Plate(canvas);
    this.plate.onFrame = countFrame;
    this.#inks = readInks(document.documentElement);
    this.plate.setInks(this.#inks);
    this.plate.content.add(this.lattice, this.#difference);
    state.watch(["view", "four"], (value) => this.#showViews(value));
    state.watch(["head"], (value) => void this.#loadHead(value).catch(complain));
    state.watch(["document"], (value) => this.#showDocument(value));
    state.watch(["region", "chosen", "layers", "landmark"], () => this.restyle());
    state.watch(["seeThrough", "layers", "hiddenParts"], (value) => this.#showParts(value));
    state.watch(["compared", "document"], (value) => this.#compare(value));
    state.watch(["motion", "revision"], (value) => void this.#move(value).catch(complain));
  }

  /** True when rays can be shot through a tree of every part. */
  get ready(): boolean {
    return this.#treesReady && state.value.document !== null;
  }

  /** After a change between light and dark. */
  readInks(): void {
    this.#inks = readInks(document.documentElement);
    this.plate.setInks(this.#inks);
    this.head?.setInks(this.#inks);
    this.#rig?.setInks(this.#inks);
    this.restyle();
    this.#compare(state.value);
  }

  hover(joint: string | null): void {
    if (this.hovered !== joint) {
      this.hovered = joint;
      this.restyle();
    }
  }

  restyle(): void {
    this.lattice.restyle(this.#look(), this.#inks);
    if (this.#rig !== null) {
      this.lattice.preview(this.#rig.places());
    }

    this.plate.draw();
  }

  #look(): LatticeLook {
    const { layers, region, chosen, landmark } = state.value;
    return { ...layers, region, chosen: new Set(chosen), hovered: this.hovered, landmark };
  }

  #showViews({ view, four }: Readonly<Shown>): void {
    const others = fourViews.filter((other) => other !== view).slice(0, 3);
    this.plate.setViews(four ? [view, ...others] : [view]);
    this.#fitNew();
  }

  // Panes that are opened later see the whole head at first, too.
  #fitNew(): void {
    for (const { eye } of this.plate.panes) {
      if (this.frame !== null && !this.#fitted.has(eye)) {
        this.#fitted.add(eye);
        eye.flyTo(this.#whole(), 0);
      }
    }
  }

  /** Looks from one of the fixed directions, at the whole head. */
  showView(view: ViewName): void {
    state.set({ view });
    this.plate.eye(view).flyTo({ ...directions[view], ...this.#whole() });
    this.plate.draw();
  }

  /** Shows the whole head in the large pane. */
  fit(): void {
    this.plate.panes[0]?.eye.flyTo(this.#whole());
    this.plate.draw();
  }

  #whole(): Pick<Gaze, "target" | "span"> {
    const box = this.head?.bounds(new Box3());
    if (box === undefined || box.isEmpty()) {
      return { target: wholeHead.target.clone(), span: wholeHead.span };
    }

    // A whole character is shown from its head down to the shoulders.
    const limit = new Box3(new Vector3(-2.6, -2.6, -3.6), new Vector3(2.6, 2.4, 1.4));
    const size = box.intersect(limit).getSize(new Vector3());
    return { target: box.getCenter(new Vector3()), span: Math.max(size.y, size.z, size.x) * 1.08 };
  }

  /** Flies to joints, from where each of them is seen best. */
  flyTo(names: readonly string[]): void {
    const places = names.map((name) => this.lattice.places.get(name)).filter((place) => place !== undefined);
    if (places.length === 0) {
      return;
    }

    const box = new Box3().setFromPoints(places);
    const target = box.getCenter(new Vector3());
    const outward = target.clone().sub(new Vector3(0, -0.3, -1.2));
    const azimuth = (Math.atan2(outward.x, outward.z) * 180) / Math.PI;
    const elevation = (Math.atan2(outward.y, Math.hypot(outward.x, outward.z)) * 180) / Math.PI;
    const span = Math.max(2, box.getSize(new Vector3()).length() * 1.8);
    this.plate.panes[0]?.eye.flyTo({ target, azimuth, elevation: Math.max(-55, Math.min(35, elevation * 0.7)), span });
    this.plate.draw();
  }

  async #loadHead({ head }: Readonly<Shown>): Promise<void> {
    const wanted = this.#heads.begin();
    this.#treesReady = false;
    this.head?.removeFromParent();
    this.head?.dispose();
    this.head = null;
    this.plate.draw();
    if (head === null) {
      return;
    }

    const model = await HeadModel.from(await untilAnswered(() => service.headMesh(head.id)));
    if (!wanted()) {
      model.dispose();
      return;
    }

    this.head = model;
    model.setInks(this.#inks);
    model.visible = this.frame !== null;
    this.plate.content.add(model);
    this.#showDocument(state.value);
    this.#fitted = new WeakSet();
    this.#fitNew();
    this.#showParts(state.value);
    await model.buildTrees();
    if (!wanted()) {
      return;
    }

    this.#warmUp(model);
    this.#treesReady = true;
    this.plate.draw();
  }

  // A few rays, nearest points and curves before somebody needs them: the first ones are slow until the browser has compiled them.
  #warmUp(model: HeadModel): void {
    const toHead = new Vector3(0, 0, -1);
    for (let i = 0; i < 60; i++) {
      const place = new Vector3((i % 10) / 10 - 0.5, Math.floor(i / 10) / 6 - 1.2, 0.3);
      model.hit(place.clone().addScaledVector(toHead, -40), toHead);
      model.nearest(place);
    }

    const places = new Map([...this.lattice.places].map(([name, place]) => [name, place.clone()]));
    for (let i = 0; i < 5; i++) {
      this.lattice.preview(places);
    }
  }

  #showDocument(value: Readonly<Shown>): void {
    const { document } = value;
    const first = this.frame === null && document !== null;
    this.frame = document === null ? null : new SceneFrame(document);
    this.lattice.visible = document !== null;
    if (document !== null && this.frame !== null) {
      this.lattice.show(document, this.frame, this.#look(), this.#inks);
      this.head?.setFrame(this.frame.fileToScene);
      if (this.#rig !== null) {
        this.lattice.preview(this.#rig.places());
      }
    }

    if (this.head !== null) {
      this.head.visible = document !== null && this.#rig === null;
    }

    if (first) {
      this.#fitted = new WeakSet();
      this.#fitNew();
    }

    this.plate.draw();
  }

  #showParts({ seeThrough, layers, hiddenParts }: Readonly<Shown>): void {
    this.head?.setSeeThrough(seeThrough);
    for (const part of this.head?.parts ?? []) {
      this.head?.setPartVisible(part.name, !hiddenParts.has(part.name), layers.loops);
    }

    this.plate.draw();
  }

  #compare({ compared, document }: Readonly<Shown>): void {
    this.#difference.visible = compared !== null && document !== null;
    if (compared !== null && document !== null && this.frame !== null) {
      const found = differences(compared.document, document);
      this.#difference.show(found, found[0]?.distance ?? 0, this.frame, this.#inks);
    }

    this.plate.draw();
  }

  async #move({ motion, placement, revision, document }: Readonly<Shown>): Promise<void> {
    const wanted = this.#rigs.begin();
    this.#showRig(null);
    const { frame } = this;
    if (!motion || placement === null || revision === null || document === null || frame === null) {
      return;
    }

    const rig = await MotionRig.from(await service.file(placement.id, "placement.glb", revision.number), document, frame);
    if (wanted()) {
      this.#showRig(rig);
    } else {
      rig.dispose();
    }
  }

  #showRig(rig: MotionRig | null): void {
    this.#rig?.removeFromParent();
    this.#rig?.dispose();
    this.#rig = rig;
    this.#pose = rest;
    if (rig !== null) {
      rig.setInks(this.#inks);
      this.plate.content.add(rig);
    }

    this.onRig(rig);
    this.#showDocument(state.value);
  }

  pose(pose: Partial<Pose>): Pose {
    this.#pose = { ...this.#pose, ...pose };
    if (this.#rig !== null) {
      this.#rig.pose(this.#pose);
      this.lattice.preview(this.#rig.places());
      this.plate.draw();
    }

    return this.#pose;
  }

  /** Where the moved joints are, as text that can be compared exactly. */
  posedPlaces(): string {
    return this.#rig === null ? "" : JSON.stringify([...this.#rig.places()].map(([name, p]) => [name, p.x, p.y, p.z]));
  }
}
