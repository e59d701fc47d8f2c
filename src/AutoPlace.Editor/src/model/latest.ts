/** Tells of several attempts at the same thing which is the latest: what the others bring comes too late. */
export class Latest {
  #attempts = 0;

  /** Begins an attempt; returns what says whether none has begun since. */
  begin(): () => boolean {
    const own = ++this.#attempts;
    return () => own === this.#attempts;
  }
}
