import type { DesignIndex } from './design-index.js';

interface ApprovedScope {
  /** As the supplier whose code comes first has it. */
  readonly scope: string;
  readonly suppliers: readonly { readonly supplier: string; readonly since: string; readonly to: string }[];
}

/** A scope names its material in whatever letters and spaces. */
export const plainScope = (text: string): string => text.trim().toLowerCase().replace(/\s+/g, ' ');

/** How approvals may name materials: by their codes, or by the titles of their specifications. */
export const namesOfMaterials = (codes: Iterable<string>, titles: readonly string[]): ReadonlySet<string> =>
  new Set([...codes, ...titles].map(plainScope));

/**
 * Who is approved for each material that the specifications of the family name: since when for the first time, and until
 * when at the latest.
 */
export function approvedScopes(design: DesignIndex): ApprovedScope[] {
  const materials = new Set(
    design.current('specification').flatMap(({ body }) => body.materials.map(({ material }) => material)),
  );
  const materialOf = new Map([...materials].map((material) => [plainScope(material), material]));
  for (const { key, body } of design.current('material-specification')) {
    if (materials.has(key)) materialOf.set(plainScope(body.title), key);
  }
  const found = new Map<string, { scope: string; suppliers: Map<string, { since: string; to: string }> }>();
  for (const { key, body } of design.current('supplier')) {
    for (const { scope, from, to } of body.approvals) {
      const material = materialOf.get(plainScope(scope));
      if (material === undefined) continue;
      const { suppliers } = found.get(material) ?? found.set(material, { scope, suppliers: new Map() }).get(material)!;
      const known = suppliers.get(key);
      suppliers.set(key, {
        since: known === undefined || from < known.since ? from : known.since,
        to: known === undefined || to > known.to ? to : known.to,
      });
    }
  }
  return [...found.values()].map(({ scope, suppliers }) => ({
    scope,
    suppliers: [...suppliers].map(([supplier, days]) => ({ supplier, ...days })),
  }));
}
