import { state } from "../model/state.ts";
import { stats } from "../model/stats.ts";
import { said } from "../model/words.ts";
import { h } from "./dom.ts";

/** The line at the bottom: what happened last, aloud for screen readers, and how the page keeps up. */
export function statusLine(): HTMLElement {
  const polite = h("span", { role: "status", "aria-live": "polite", class: "said" });
  const urgent = h("span", { role: "alert", class: "said urgent" });
  const figures = h("span", { class: "quiet figures" });
  said.watch(["at"], ({ text, urgent: loud }) => {
    polite.textContent = loud ? "" : text;
    urgent.textContent = loud ? text : "";
  });
  setInterval(() => {
    const { count, median, max, fps } = stats();
    figures.textContent = state.value.screen !== "plate" || count === 0 ? "" : `${count} drag events, median ${median.toFixed(1)} ms, most ${max.toFixed(1)} ms · ${fps.toFixed(0)} frames a second`;
  }, 500);
  return h("footer", { class: "status line" }, polite, urgent, h("span", { class: "space" }), figures);
}

/** Says that the service is away, for as long as it is. */
export function awayBanner(): HTMLElement {
  const banner = h("div", { class: "away", id: "away" }, h("strong", {}, "The service doesn’t answer."), " Trying again until it does. What you did last is kept and sent then.");
  state.watchLater(["away"], ({ away }) => (banner.hidden = !away));
  return banner;
}
