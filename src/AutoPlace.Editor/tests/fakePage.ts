// What the model asks of a browser. To be imported before the model, which reads the address as it is loaded.

/** A stream of events that never says anything by itself. */
export class FakeEvents {
  static readonly CLOSED = 2;
  static readonly open = new Set<FakeEvents>();
  readonly readyState = 1;
  onerror: (() => void) | null = null;
  readonly #heard = new Map<string, (event: { data: string }) => void>();
  readonly address: string;

  constructor(address: string) {
    this.address = address;
    FakeEvents.open.add(this);
  }

  addEventListener(name: string, act: (event: { data: string }) => void): void {
    this.#heard.set(name, act);
  }

  tell(name: string, data: unknown): void {
    this.#heard.get(name)?.({ data: JSON.stringify(data) });
  }

  close(): void {
    FakeEvents.open.delete(this);
  }
}

type Answer = (body: unknown) => unknown;

/** A service that answers each request, named like "POST /v1/heads", as a test says. */
export class FakeService {
  readonly #answers = new Map<string, Answer>();
  readonly asked: { readonly request: string; readonly body: unknown }[] = [];

  /** The answer's body; a `Response` or an error is passed on as it is. */
  on(request: string, answer: Answer): void {
    this.#answers.set(request, answer);
  }

  /** Bodies of requests of this name, in the order in which they came. */
  bodies(request: string): unknown[] {
    return this.asked.filter((one) => one.request === request).map((one) => one.body);
  }

  readonly fetch = async (path: string, init: RequestInit = {}): Promise<Response> => {
    const request = `${init.method ?? "GET"} ${path}`;
    const body: unknown = typeof init.body === "string" ? JSON.parse(init.body) : null;
    this.asked.push({ request, body });
    const answer = await (this.#answers.get(request) ?? (() => refusal(404)))(body);
    if (answer instanceof Error) {
      throw answer;
    }

    return answer instanceof Response ? answer : Response.json(answer ?? {});
  };
}

export function refusal(status: number, problem: object = {}): Response {
  return Response.json({ status, title: `refused with ${status}`, ...problem }, { status });
}

/** An answer whose connection breaks within its body. */
export function brokenOff(): Response {
  return new Response(new ReadableStream({ start: (body) => body.error(new TypeError("terminated")) }));
}

/** An answer that a test gives later. */
export function later<T>(): { readonly promise: Promise<T>; readonly give: (value: T) => void } {
  let give: (value: T) => void = () => undefined;
  const promise = new Promise<T>((resolve) => (give = resolve));
  return { promise, give };
}

/** Lets everything happen that waits for no answer. */
export function quiet(): Promise<void> {
  return new Promise((resolve) => setTimeout(resolve, 20));
}

/** Puts a new service in place of the one before. */
export function startService(): FakeService {
  const fake = new FakeService();
  Object.assign(globalThis, { fetch: fake.fetch });
  return fake;
}

Object.assign(globalThis, { location: { hash: "" }, EventSource: FakeEvents });
