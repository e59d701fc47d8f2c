import type { Finding, Joint, Line, PlacementDocument } from "../service/contract.ts";

const severities: Record<Finding["severity"], number> = { error: 2, warning: 1, info: 0 };

/** Findings, the worst first: by severity, then by how far the value is past its limit. */
export function worstFirst(findings: readonly Finding[]): Finding[] {
  const excess = (finding: Finding): number =>
    finding.limit === 0 ? Math.abs(finding.value) : Math.abs(finding.value - finding.limit) / Math.abs(finding.limit);
  return [...findings].sort((a, b) => severities[b.severity] - severities[a.severity] || excess(b) - excess(a));
}

/** The first joints of those worth a look that aren't locked yet, in the looks' order. */
export function nextToLookAt(joints: readonly Joint[], looks: readonly string[], count: number): Joint[] {
  const named = new Map(joints.map((joint) => [joint.name, joint]));
  return looks
    .map((name) => named.get(name))
    .filter((joint): joint is Joint => joint !== undefined && !joint.lock.position)
    .slice(0, count);
}

/** The joints that a finding's subject means: a joint, those of a row or column, or none. */
export function subjects(placement: PlacementDocument, subject: string): string[] {
  const joint = placement.joints.find((candidate) => candidate.name === subject);
  const line: Line | undefined = [...placement.rows, ...placement.columns].find((candidate) => candidate.name === subject);
  return joint !== undefined ? [joint.name] : line !== undefined ? [...line.joints] : [];
}
