/** Shapes of joints' markers, in the order in which regions take them. */
export const shapes = ["disc", "square", "diamond", "triangle"] as const;
export type Shape = (typeof shapes)[number];

/** Regions of the built-in lattice; the order gives each its colour and shape, in the page as in every picture. */
export const regionNames = [
  "skull", "jaw", "eye", "eyelid", "brow", "nose", "lip", "perioral", "cheek", "outline", "ear", "tongue", "teeth", "attachment",
] as const;

// Okabe and Ito (2008), 8-bit sRGB as published: black, orange, sky blue, bluish green, yellow, blue, vermilion, reddish purple.
const colours = [0x000000, 0xe69f00, 0x56b4e9, 0x009e73, 0xf0e442, 0x0072b2, 0xd55e00, 0xcc79a7] as const;
const noRegion = 0x666666;

export interface Mark {
  /** sRGB, 0xRRGGBB. */
  readonly colour: number;
  readonly shape: Shape;
}

/** How a region is marked; a grey disc for joints without one. Regions of other templates follow after the built-in ones. */
export function markOf(region: string | null, further: readonly string[] = []): Mark {
  let index = (regionNames as readonly string[]).indexOf(region ?? "");
  if (index < 0 && region !== null && further.includes(region)) {
    index = regionNames.length + further.indexOf(region);
  }

  // The shapes shift by one each time the colours start over, so no two of the first 32 regions look alike.
  return index < 0
    ? { colour: noRegion, shape: "disc" }
    : { colour: colours[index % colours.length] ?? noRegion, shape: shapes[(index + Math.floor(index / colours.length)) % shapes.length] ?? "disc" };
}

/** The regions that a lattice has, in their order. */
export function regionsOf(joints: readonly { readonly region: string | null }[]): string[] {
  const present = new Set(joints.map((joint) => joint.region).filter((region) => region !== null));
  const known = regionNames.filter((region) => present.has(region));
  return [...known, ...[...present].filter((region) => !(regionNames as readonly string[]).includes(region)).sort()];
}
