import { viewNames, type ViewName } from "./views.ts";

/** What the page's address keeps, so that a reload loses nothing. */
export interface Address {
  readonly placement: string | null;
  readonly view: ViewName;
  readonly four: boolean;
  readonly region: string | null;
  readonly chosen: readonly string[];
  /** An earlier revision that is being looked at. */
  readonly revision: number | null;
  readonly compare: number | null;
}

export function readAddress(hash: string): Address {
  const words = new URLSearchParams(hash.replace(/^#/, ""));
  const view = words.get("view") as ViewName | null;
  const number = (key: string): number | null => {
    const text = words.get(key);
    return text !== null && /^\d+$/.test(text) ? Number(text) : null;
  };
  return {
    placement: words.get("placement"),
    view: view !== null && viewNames.includes(view) ? view : "front",
    four: words.get("four") === "1",
    region: words.get("region"),
    chosen: words.get("joints")?.split(",").filter((name) => name !== "") ?? [],
    revision: number("revision"),
    compare: number("compare"),
  };
}

export function writeAddress(address: Address): string {
  const words = new URLSearchParams();
  if (address.placement !== null) {
    words.set("placement", address.placement);
    words.set("view", address.view);
    if (address.four) {
      words.set("four", "1");
    }

    for (const key of ["region", "revision", "compare"] as const) {
      const value = address[key];
      if (value !== null) {
        words.set(key, String(value));
      }
    }

    if (address.chosen.length > 0 && address.chosen.length <= 20) {
      words.set("joints", address.chosen.join(","));
    }
  }

  return words.size > 0 ? `#${words.toString()}` : "";
}
