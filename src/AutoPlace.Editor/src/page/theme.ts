const key = "autoplace.theme";
export type Theme = "light" | "dark";

const dark = matchMedia("(prefers-color-scheme: dark)");

function stored(): Theme | null {
  const value = localStorage.getItem(key);
  return value === "light" || value === "dark" ? value : null;
}

export function theme(): Theme {
  return stored() ?? (dark.matches ? "dark" : "light");
}

/** Follows the system's choice until the reader makes an own one; calls `changed` after each change. */
export function startTheme(changed: () => void): void {
  const apply = (): void => {
    document.documentElement.dataset["theme"] = theme();
    changed();
  };
  dark.addEventListener("change", apply);
  addEventListener("storage", (event) => event.key === key && apply());
  document.documentElement.dataset["theme"] = theme();
}

export function switchTheme(changed: () => void): void {
  localStorage.setItem(key, theme() === "dark" ? "light" : "dark");
  document.documentElement.dataset["theme"] = theme();
  changed();
}
