import type {
  DemoHead, Edit, FileName, Head, LookList, NetworkView, Placement, PlacementOptions, Problem, Revision, RevisionAnswer, RevisionList, Template,
} from "./contract.ts";

/** The service answered, but with an error. */
export class ServiceError extends Error {
  readonly status: number;
  readonly problem: Problem;

  constructor(status: number, problem: Problem) {
    const text = problem.detail ?? problem.title ?? `The service answered ${status}.`;
    super(problem.element !== undefined && !text.includes(problem.element) ? `${problem.element}: ${text}` : text);
    this.name = "ServiceError";
    this.status = status;
    this.problem = problem;
  }
}

/** The service didn't answer, or not to the end. */
export class ServiceAway extends Error {
  constructor() {
    super("The service doesn't answer.");
    this.name = "ServiceAway";
  }
}

async function problemOf(response: Response): Promise<Problem> {
  try {
    return (await response.json()) as Problem;
  } catch {
    return { status: response.status, title: response.statusText };
  }
}

const noBody = (): Promise<void> => Promise.resolve();
const bytes = (response: Response): Promise<ArrayBuffer> => response.arrayBuffer();

/** A request, and what is read of its answer; throws `ServiceAway` without a whole answer and `ServiceError` for one that isn't a success. */
async function ask<T>(path: string, read: (response: Response) => Promise<T>, init?: RequestInit): Promise<T> {
  try {
    const response = await fetch(path, init);
    // A gateway before a service that is down answers in its place.
    if (response.status === 502 || response.status === 504) {
      throw new ServiceAway();
    }

    if (!response.ok) {
      throw new ServiceError(response.status, await problemOf(response));
    }

    return await read(response);
  } catch (cause) {
    // What fetch and the reading of a body throw when the connection fails.
    throw cause instanceof TypeError ? new ServiceAway() : cause;
  }
}

const askJson = <T>(path: string, init?: RequestInit): Promise<T> => ask(path, (response) => response.json() as Promise<T>, init);

const send = (method: string, body: unknown): RequestInit => ({
  method,
  headers: { "content-type": "application/json" },
  body: JSON.stringify(body),
});

const placementPath = (id: string): string => `/v1/placements/${encodeURIComponent(id)}`;

/** Every request that the page makes. */
export const service = {
  alive: (): Promise<void> => ask("/health/live", noBody),

  heads: async (): Promise<readonly Head[]> => (await askJson<{ heads: readonly Head[] }>("/v1/heads")).heads,
  head: (id: string): Promise<Head> => askJson(`/v1/heads/${encodeURIComponent(id)}`),
  addHead: (file: File): Promise<Head> => {
    const body = new FormData();
    body.append("file", file, file.name);
    return askJson("/v1/heads", { method: "POST", body });
  },
  removeHead: (id: string): Promise<void> => ask(`/v1/heads/${encodeURIComponent(id)}`, noBody, { method: "DELETE" }),
  headMesh: (id: string): Promise<ArrayBuffer> => ask(`/v1/heads/${encodeURIComponent(id)}/mesh.glb`, bytes),
  viewAddress: (headId: string, placementId: string, n: number): string =>
    `/v1/heads/${encodeURIComponent(headId)}/views/${n}.png?placement=${encodeURIComponent(placementId)}`,

  templates: async (): Promise<readonly Template[]> => (await askJson<{ templates: readonly Template[] }>("/v1/templates")).templates,
  addTemplate: (text: string): Promise<Template> => askJson("/v1/templates", { method: "POST", headers: { "content-type": "application/json" }, body: text }),

  demoHeads: async (): Promise<readonly DemoHead[]> => (await askJson<{ heads: readonly DemoHead[] }>("/v1/demo-heads")).heads,
  addDemoHead: (name: string): Promise<Head> => askJson(`/v1/demo-heads/${encodeURIComponent(name)}`, { method: "POST" }),

  place: (headId: string, options: PlacementOptions): Promise<Placement> =>
    askJson(`/v1/heads/${encodeURIComponent(headId)}/placements`, send("POST", options)),
  placements: async (): Promise<readonly Placement[]> =>
    (await askJson<{ placements: readonly Placement[] }>("/v1/placements")).placements,
  placement: (id: string): Promise<Placement> => askJson(placementPath(id)),
  removePlacement: (id: string): Promise<void> => ask(placementPath(id), noBody, { method: "DELETE" }),
  eventsAddress: (id: string): string => `${placementPath(id)}/events`,
  views: async (id: string): Promise<readonly NetworkView[]> =>
    (await askJson<{ views: readonly NetworkView[] }>(`${placementPath(id)}/views`)).views,

  revisions: (id: string): Promise<RevisionList> => askJson(`${placementPath(id)}/revisions`),
  revision: (id: string, n: number): Promise<RevisionAnswer> => askJson(`${placementPath(id)}/revisions/${n}`),
  revise: (id: string, base: number, edits: readonly Edit[]): Promise<RevisionAnswer> =>
    askJson(`${placementPath(id)}/revisions`, send("POST", { base, edits })),
  nameRevision: (id: string, n: number, name: string | null): Promise<Revision> =>
    askJson(`${placementPath(id)}/revisions/${n}`, send("PATCH", { name })),
  importFile: (id: string, base: number, text: string): Promise<RevisionAnswer> =>
    askJson(`${placementPath(id)}/import?base=${base}`, { method: "POST", headers: { "content-type": "application/json" }, body: text }),
  looks: async (id: string, revision: number): Promise<readonly string[]> =>
    (await askJson<LookList>(`${placementPath(id)}/files/looks.json?revision=${revision}`)).looks.map((look) => look.joint),
  fileAddress: (id: string, file: FileName, revision: number): string => `${placementPath(id)}/files/${file}?revision=${revision}`,
  file: (id: string, file: FileName, revision: number): Promise<ArrayBuffer> => ask(service.fileAddress(id, file, revision), bytes),
};
