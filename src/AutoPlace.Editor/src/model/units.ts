/** How lengths of one head are written: in millimetres where the file's unit is known, else in the file's unit. */
export interface LengthUnit {
  readonly name: string;
  /** Shown length of one unit of the file. */
  readonly perFileUnit: number;
}

export function lengthUnit(metresPerUnit: number | null): LengthUnit {
  return metresPerUnit === null ? { name: "units", perFileUnit: 1 } : { name: "mm", perFileUnit: metresPerUnit * 1000 };
}

/** A number with about three significant digits and no exponent. */
export function figure(value: number): string {
  const size = Math.abs(value);
  return value.toFixed(size >= 100 ? 0 : size >= 10 ? 1 : size >= 1 ? 2 : size >= 0.1 ? 3 : 4);
}

export function formatLength(value: number, unit: LengthUnit): string {
  const shown = value * unit.perFileUnit;
  return `${unit.name === "mm" ? (Math.abs(shown) >= 10 ? shown.toFixed(0) : Math.abs(shown) >= 1 ? shown.toFixed(1) : shown.toFixed(2)) : figure(shown)} ${unit.name}`;
}

/** The largest of 1, 2, 5 times a power of ten that isn't above a value: the length of a scale bar. */
export function roundLength(value: number): number {
  const power = 10 ** Math.floor(Math.log10(value));
  const mantissa = value / power;
  return (mantissa >= 5 ? 5 : mantissa >= 2 ? 2 : 1) * power;
}

export function formatBytes(bytes: number): string {
  return bytes >= 1e6 ? `${(bytes / 1e6).toFixed(1)} MB` : `${Math.max(1, Math.round(bytes / 1e3))} kB`;
}
