import type { Finding, Placement } from "./contract.ts";
import { service } from "./client.ts";

/** What the service tells about a placement while it works. */
export interface PlacementListener {
  state(placement: Placement): void;
  stage(stage: string, fraction: number): void;
  finding(finding: Finding): void;
  revision(number: number): void;
  /** The connection broke; the browser goes on trying. */
  broken(): void;
}

/** Listens to a placement's events until the returned function is called. */
export function listen(id: string, listener: PlacementListener): () => void {
  let source: EventSource;
  let again: ReturnType<typeof setTimeout> | undefined;
  let closed = false;

  const open = (): void => {
    source = new EventSource(service.eventsAddress(id));
    source.onerror = () => {
      listener.broken();
      // After some failures (a gateway's error page) the browser gives up by itself.
      if (source.readyState === EventSource.CLOSED && !closed) {
        again = setTimeout(open, 2000);
      }
    };
    on<Placement>("state", (data) => listener.state(data));
    on<{ stage: string; fraction: number }>("stage", (data) => listener.stage(data.stage, data.fraction));
    on<Finding>("finding", (data) => listener.finding(data));
    on<{ number: number }>("revision", (data) => listener.revision(data.number));
  };

  const on = <T>(name: string, act: (data: T) => void): void => {
    source.addEventListener(name, (event) => act(JSON.parse((event as MessageEvent<string>).data) as T));
  };

  open();
  return () => {
    closed = true;
    clearTimeout(again);
    source.close();
  };
}
