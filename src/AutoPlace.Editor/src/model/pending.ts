const makers: (() => void)[] = [];

/** Registers what makes a revision of something begun that waits for a quiet moment. */
export function beforeOthers(make: () => void): void {
  makers.push(make);
}

/** Makes revisions of everything begun, so that what follows comes after it. */
export function makePending(): void {
  makers.forEach((make) => make());
}
