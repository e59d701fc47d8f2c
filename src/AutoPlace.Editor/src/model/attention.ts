import type { Finding, Joint, Line, PlacementDocument } from "../service/contract.ts";

const severities: Record<Finding["severity"], number> = { error: 2, warning: 1, info: 0 };

/** Findings, the worst first: by severity, then by how far the value is past its limit. */
export function worstFirst(findings: readonly Finding[]): Finding[] {
  const excess = (finding: Finding): number =>
    finding.limit === 0 ? Math.abs(finding.value) : Math.abs(finding.value - finding.limit) / Math.abs(finding.limit);
  return [...findings].sort((a, b) => severities[b.severity] - severities[a.severity] || excess(b) - excess(a));
}

/**
 * Joints by what looking at them is expected to gain: those that can be seen, aren't locked yet and have the largest 90 %
 * radius come first. A coinciding joint is named once.
 */
export function nextToLookAt(joints: readonly Joint[], count: number): Joint[] {
  const seen = new Set<string>();
  return joints
    .filter((joint) => !joint.lock.position && joint.state !== "absent")
    .sort((a, b) => Number(b.state === "modelled") - Number(a.state === "modelled") || b.radius90 - a.radius90)
    .filter((joint) => {
      const place = joint.position.join();
      return !seen.has(place) && seen.add(place);
    })
    .slice(0, count);
}

/** The joints that a finding's subject means: a joint, those of a row or column, or none. */
export function subjects(placement: PlacementDocument, subject: string): string[] {
  const joint = placement.joints.find((candidate) => candidate.name === subject);
  const line: Line | undefined = [...placement.rows, ...placement.columns].find((candidate) => candidate.name === subject);
  return joint !== undefined ? [joint.name] : line !== undefined ? [...line.joints] : [];
}
