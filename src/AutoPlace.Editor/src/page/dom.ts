type Child = Node | string | null | undefined | false;

type Handlers = { readonly [K in keyof HTMLElementEventMap as `on${K}`]?: (event: HTMLElementEventMap[K]) => void };

/** Attributes by name (true sets an empty one, false leaves it out, but `aria-…` say either; null leaves all out) and `on…` handlers. */
export type Attributes = Handlers & { readonly [name: string]: unknown };

/** Makes an element. */
export function h<K extends keyof HTMLElementTagNameMap>(tag: K, attributes: Attributes = {}, ...children: readonly Child[]): HTMLElementTagNameMap[K] {
  const element = document.createElement(tag);
  setAttributes(element, attributes);
  fill(element, children);
  return element;
}

const svgNamespace = "http://www.w3.org/2000/svg";

export function svg(tag: string, attributes: Attributes = {}, ...children: readonly Child[]): SVGElement {
  const element = document.createElementNS(svgNamespace, tag);
  setAttributes(element, attributes);
  fill(element, children);
  return element;
}

function setAttributes(element: Element, attributes: Attributes): void {
  for (const [name, value] of Object.entries(attributes)) {
    if (typeof value === "function") {
      element.addEventListener(name.slice(2), value as EventListener);
    } else if (name.startsWith("aria-") && value !== null && value !== undefined) {
      element.setAttribute(name, String(value));
    } else if (value === true) {
      element.setAttribute(name, "");
    } else if (value !== false && value !== null && value !== undefined) {
      element.setAttribute(name, String(value));
    }
  }
}

/** Replaces an element's children; focus stays on the child with the same `data-key`. */
export function fill(element: Element, children: readonly Child[]): void {
  const focused = document.activeElement;
  const key = focused instanceof HTMLElement && element.contains(focused) ? focused.dataset["key"] : undefined;
  element.replaceChildren(...children.filter((child) => child !== null && child !== undefined && child !== false));
  if (key !== undefined) {
    element.querySelector<HTMLElement>(`[data-key="${CSS.escape(key)}"]`)?.focus({ preventScroll: true });
  }
}

/** A button with words on it. */
export function button(words: string, act: () => void, attributes: Attributes = {}): HTMLButtonElement {
  return h("button", { type: "button", onclick: act, ...attributes }, words);
}

/** A check box with its label. */
export function check(words: string, on: boolean, act: (on: boolean) => void, attributes: Attributes = {}): HTMLLabelElement {
  const input = h("input", { type: "checkbox", onchange: () => act(input.checked), ...attributes });
  input.checked = on;
  return h("label", { class: "check" }, input, h("span", {}, words));
}
