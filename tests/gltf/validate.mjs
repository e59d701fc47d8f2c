// Validates the GLB files named on the command line; prints one JSON report for each on a line of its own.
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";

const { validateBytes } = createRequire(import.meta.url)("gltf-validator");

for (const path of process.argv.slice(2)) {
  const report = await validateBytes(new Uint8Array(readFileSync(path)), { maxIssues: 100 });
  console.log(JSON.stringify({ path, ...report.issues }));
}
