const key = "autoplace.singleKeys";

/** False when the reader wants no key to do anything by itself: speech and slips press them too (WCAG 2.2, 2.1.4). */
export function singleKeys(): boolean {
  return localStorage.getItem(key) !== "off";
}

export function setSingleKeys(on: boolean): void {
  localStorage.setItem(key, on ? "on" : "off");
}
