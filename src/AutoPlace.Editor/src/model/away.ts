import { service, ServiceAway } from "../service/client.ts";
import { state } from "./state.ts";
import { say, warn } from "./words.ts";

const pause = 1500;
let back: Promise<void> | null = null;

/** The service doesn't answer: shows it, and asks again until it does. */
export function away(): void {
  if (back === null) {
    state.set({ away: true });
    warn("The service doesn’t answer. Trying again until it does; nothing is lost.");
    back = retry().finally(() => {
      back = null;
      state.set({ away: false });
      say("The service answers again.");
    });
  }
}

/** Resolves as soon as the service answers. */
export function whenBack(): Promise<void> {
  return back ?? Promise.resolve();
}

/** Asks until the service answers. */
export async function untilAnswered<T>(ask: () => Promise<T>): Promise<T> {
  for (;;) {
    try {
      return await ask();
    } catch (error) {
      if (!(error instanceof ServiceAway)) {
        throw error;
      }

      away();
      await whenBack();
    }
  }
}

async function retry(): Promise<void> {
  for (;;) {
    await new Promise((resolve) => setTimeout(resolve, pause));
    try {
      await service.alive();
      return;
    } catch {
      // Still away, or not yet well.
    }
  }
}
