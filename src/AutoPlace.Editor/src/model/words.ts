import { Store } from "./store.ts";

/** The last thing that was said, for the status line and for screen readers; `urgent` also interrupts. */
export const said = new Store<{ readonly text: string; readonly urgent: boolean; readonly at: number }>({ text: "", urgent: false, at: 0 });

export function say(text: string): void {
  said.set({ text, urgent: false, at: performance.now() });
}

export function warn(text: string): void {
  said.set({ text, urgent: true, at: performance.now() });
}
