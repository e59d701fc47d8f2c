/** Values that others watch: `set` changes some and tells those who look at one of them. */
export class Store<T extends object> {
  #value: T;
  readonly #watchers = new Set<(value: T, changed: ReadonlySet<keyof T>) => void>();

  constructor(value: T) {
    this.#value = value;
  }

  get value(): Readonly<T> {
    return this.#value;
  }

  set(change: Partial<T>): void {
    const changed = new Set<keyof T>();
    for (const key of Object.keys(change) as (keyof T)[]) {
      if (!Object.is(this.#value[key], change[key])) {
        changed.add(key);
      }
    }

    if (changed.size > 0) {
      this.#value = { ...this.#value, ...change };
      for (const watcher of [...this.#watchers]) {
        watcher(this.#value, changed);
      }
    }
  }

  /** Calls `act` now and after each change of one of the keys; returns what ends that. */
  watch(keys: readonly (keyof T)[], act: (value: Readonly<T>) => void): () => void {
    const watcher = (value: T, changed: ReadonlySet<keyof T>): void => {
      if (keys.some((key) => changed.has(key))) {
        act(value);
      }
    };
    this.#watchers.add(watcher);
    act(this.#value);
    return () => this.#watchers.delete(watcher);
  }

  /** Like `watch`, but after the task in which the change was made, once for all changes in it: for what takes long to draw. */
  watchLater(keys: readonly (keyof T)[], act: (value: Readonly<T>) => void): () => void {
    let due = false;
    let first = true;
    return this.watch(keys, (value) => {
      if (first) {
        first = false;
        act(value);
      } else if (!due) {
        due = true;
        setTimeout(() => {
          due = false;
          act(this.#value);
        });
      }
    });
  }
}
