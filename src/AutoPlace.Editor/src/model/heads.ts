import { service, ServiceAway, ServiceError } from "../service/client.ts";
import type { Head, Placement, PlacementOptions } from "../service/contract.ts";
import { away, whenBack } from "./away.ts";
import { complain, open } from "./session.ts";
import { say } from "./words.ts";

/** Uploads a head and places the lattice on it. */
export async function placeFile(file: File, options: PlacementOptions): Promise<void> {
  say(`Sending ${file.name}`);
  await placeOn(await service.addHead(file), options);
}

export async function placeDemo(name: string, options: PlacementOptions): Promise<void> {
  say(`Opening ${name}`);
  await placeOn(await service.addDemoHead(name), options);
}

/** Removes a placement, and its head with the last one of it; says whether the head went too. */
export async function removePlacement(placement: Placement): Promise<boolean> {
  await gone(service.removePlacement(placement.id));
  return await removeUnplaced(placement.headId);
}

async function placeOn(head: Head, options: PlacementOptions): Promise<void> {
  let placement: Placement;
  try {
    placement = await place(head.id, options);
  } catch (error) {
    await removeUnplaced(head.id).catch(complain);
    throw error;
  }

  await open(placement.id);
}

// The service may have taken the request and gone away before it could say so.
async function place(headId: string, options: PlacementOptions): Promise<Placement> {
  try {
    return await service.place(headId, options);
  } catch (error) {
    if (!(error instanceof ServiceAway)) {
      throw error;
    }

    away();
    await whenBack();
    return (await service.placements()).find((placement) => placement.headId === headId) ?? (await place(headId, options));
  }
}

// A head without a placement is shown nowhere, so that nobody could remove it, and it may be a person's.
async function removeUnplaced(headId: string): Promise<boolean> {
  const unplaced = (await service.placements()).every((placement) => placement.headId !== headId);
  if (unplaced) {
    await gone(service.removeHead(headId));
  }

  return unplaced;
}

/** What somebody else removed needs no removing. */
async function gone(removal: Promise<void>): Promise<void> {
  try {
    await removal;
  } catch (error) {
    if (!(error instanceof ServiceError && error.status === 404)) {
      throw error;
    }
  }
}
