/** What keys do, as the list of keys shows it and the page obeys it. */
export const keyList: readonly { readonly where: string; readonly keys: readonly (readonly [string, string])[] }[] = [
  {
    where: "Looking",
    keys: [
      ["1 … 5", "front, subject’s left, subject’s right, three-quarter, from below"],
      ["6", "one view or four"],
      ["Ctrl + arrows", "turn the head"],
      ["Ctrl + Shift + arrows", "shift what is seen"],
      ["+ −", "closer, farther"],
      ["0", "the whole head"],
      ["Enter", "fly to what is chosen"],
      ["O", "see through the skin"],
      ["L", "modelled loops"],
    ],
  },
  {
    where: "Choosing",
    keys: [
      ["N B", "next, back by one joint (of the picked region)"],
      ["Tab, Shift + Tab", "the same on the plate while a joint is chosen"],
      ["Escape", "let go; once more, choose nothing"],
      ["V", "next joint worth a look"],
    ],
  },
  {
    where: "Correcting",
    keys: [
      ["arrows", "nudge by 1 % of the distance between the eyes (nothing chosen: turn)"],
      ["Shift + arrows", "nudge by 5 %"],
      ["K", "lock, unlock"],
      ["M", "mirror by the plane; with Shift by topology"],
      ["T", "travel along the skin, or in the plane of the view"],
      ["Ctrl + Z", "undo"],
      ["Ctrl + Shift + Z, Ctrl + Y", "redo"],
      ["?", "this list"],
    ],
  },
];
