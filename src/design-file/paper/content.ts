import { z } from 'zod';
import { CLAIM_ANSWERS, type ComputedClaim, computedClaims, UNDECIDED } from '../../design-history/claims.js';
import type { DesignFacts, DesignRevision, StudiedLot } from '../../design-history/design-facts.js';
import type { DesignIndex } from '../../design-history/design-index.js';
import { GAP_STATES, type Gap } from '../../design-history/find-gaps.js';
import { Simulation } from '../../kinds/degradation/simulation.js';
import { CLAIM_METHODS } from '../../kinds/design-history/study-criterion.js';
import { Enclosure } from '../../records/enclosure.js';
import type { LotMade } from '../lots-made.js';

const Digest = Enclosure.shape.dossierSha256;

const CarriedRevision = z.strictObject({
  ...{ kind: z.string(), key: z.string(), revision: z.int().positive(), name: z.string(), digest: Digest },
  recordedAt: z.string(),
  authors: z.array(z.string()),
  approvedBy: z.string().nullable(),
  approvedAt: z.string().nullable(),
  withdrawn: z.boolean(),
  body: z.unknown(),
});

const CarriedMade = z.strictObject({
  ...{ machine: z.string().nullable(), closedAt: z.string().nullable(), recipeGroup: z.string().nullable() },
  ...{ position: z.string().nullable(), orientation: z.string().nullable() },
});

const CarriedLot = z.strictObject({
  ...{ lot: z.string(), builtAt: z.string().nullable(), implants: z.int(), state: z.string() },
  lotFileSha256: Digest.nullable(),
  baseline: z.string().nullable(),
});

/** Why a file stands in the list by its digest alone. */
export const NOT_CARRIED = ['stands in the design', 'too large', 'personal data', 'removed'] as const;

/** What a document was read from: all that it says stands in the design. */
export const AS_RECEIVED = 'document as received';

const CarriedEvidence = z
  .strictObject({
    ...{ kind: z.string(), key: z.string(), revision: z.int().positive(), name: z.string() },
    ...{ sha256: Digest, fileName: z.string(), bytes: z.int() },
    carriedAs: z.string().nullable().describe('its name among the attachments'),
    why: z.enum(NOT_CARRIED).nullable().describe('why it is named by its digest alone'),
  })
  .refine(({ carriedAs, why }) => (carriedAs === null) === (why !== null), 'either carried, or why not')
  .refine(({ name, why }) => why !== 'stands in the design' || name === AS_RECEIVED, 'the document itself');
export type CarriedEvidence = z.infer<typeof CarriedEvidence>;

/** What comes of the facts by the rules of the program that wrote it: whoever verifies comes to it again. */
const Found = z.strictObject({
  gaps: z.array(z.strictObject({ id: Digest, rule: z.string(), state: z.enum(GAP_STATES) })),
  claims: z.array(
    z.strictObject({
      study: z.string(),
      revision: z.int(),
      method: z.enum(CLAIM_METHODS),
      answer: z.enum(CLAIM_ANSWERS),
      why: z.enum(UNDECIDED).nullable(),
      numbers: z.record(z.string(), z.number()),
    }),
  ),
});
export type Found = z.infer<typeof Found>;

/** The design of a family as it stood at a moment, with all that its gaps and claims follow from. */
export const DesignContent = z.strictObject({
  format: z.literal(1),
  family: z.string(),
  asOf: z.strictObject({ day: z.string(), entries: z.int(), root: Digest }),
  revisions: z.array(CarriedRevision),
  statements: z.array(
    z.strictObject({
      ...{ characteristic: z.string(), number: z.int(), digest: Digest, lower: z.number().nullable() },
    }),
  ),
  studied: z.array(
    z.strictObject({
      lot: z.string(),
      family: z.string(),
      values: z.array(
        z.strictObject({
          ...{ characteristic: z.string(), specimen: z.string(), piece: z.string(), replicate: z.string() },
          ...{ value: z.string(), ucum: z.string() },
        }),
      ),
      exposed: z
        .strictObject({
          exposures: z.array(
            z.strictObject({ key: z.string(), revision: z.int().positive(), digest: Digest, body: z.unknown() }),
          ),
          parts: z.array(
            z.strictObject({
              ...{ part: z.string(), build: z.string() },
              study: z.strictObject({ study: z.string(), revision: z.int() }).nullable(),
              made: CarriedMade.nullable().describe('what of a coupon that study has to cover'),
            }),
          ),
        })
        .optional()
        .describe('of a lot of which a loss is held against a window'),
    }),
  ),
  parts: z.array(z.strictObject({ part: z.string(), lot: z.string() })),
  simulation: Simulation,
  made: z.array(CarriedLot),
  evidence: z.array(CarriedEvidence),
  found: Found,
});
export type DesignContent = z.infer<typeof DesignContent>;

/** What rules and claims come to. @param gaps of the design: a large one is walked once. */
export function foundIn(design: DesignIndex, gaps: readonly Gap[]): Found {
  const claims = computedClaims(design);
  return {
    gaps: gaps.map(({ id, rule, state }) => ({ id, rule, state })),
    claims: claims.map(({ study, revision, method, answer, why, numbers }: ComputedClaim) => ({
      ...{ study, revision, method, answer, why, numbers: { ...numbers } },
    })),
  };
}

export function contentOf(
  { facts }: DesignIndex,
  found: Found,
  head: { readonly entries: number; readonly root: string },
  made: readonly LotMade[],
  evidence: readonly CarriedEvidence[],
): DesignContent {
  const byName = (a: DesignRevision, b: DesignRevision) =>
    a.kind === b.kind && a.key === b.key ? a.revision - b.revision : nameOf(a) < nameOf(b) ? -1 : 1;
  return {
    ...{ format: 1, family: facts.family, asOf: { day: facts.today, ...head } },
    revisions: [...facts.revisions].sort(byName).map((one) => ({ ...one, authors: [...one.authors] })),
    statements: [...facts.statements],
    studied: [...facts.lots].map(([lot, { family, values, exposed }]) => ({
      ...{ lot, family, values: [...values] },
      ...(exposed === undefined ? {} : { exposed: { exposures: [...exposed.exposures], parts: [...exposed.parts] } }),
    })),
    parts: [...facts.lotOfPart].map(([part, lot]) => ({ part, lot })),
    simulation: facts.simulation,
    ...{ made: [...made], evidence: [...evidence], found },
  };
}

const nameOf = ({ kind, key }: DesignRevision): string => `${kind} ${key}`;

/** The facts that rules look at, as a file carries them. */
export const factsIn = ({
  family,
  asOf,
  revisions,
  statements,
  studied,
  parts,
  simulation,
}: DesignContent): DesignFacts => ({
  ...{ family, today: asOf.day, statements, simulation },
  revisions: revisions as DesignRevision[],
  lots: new Map(studied.map(({ lot, ...one }) => [lot, one as StudiedLot])),
  lotOfPart: new Map(parts.map(({ part, lot }) => [part, lot])),
});

/** A file as received that the file of a design carries. */
export interface EvidenceFile {
  /** Its name in the PDF. */
  readonly name: string;
  readonly sha256: string;
  readonly bytes: Uint8Array;
}

/** The files that a design says it carries, out of what is attached; one that is not there is left out. */
export function evidenceOf(
  { evidence }: Pick<DesignContent, 'evidence'>,
  attachments: ReadonlyMap<string, Uint8Array>,
): EvidenceFile[] {
  const named = new Map(evidence.flatMap(({ carriedAs, sha256 }) => (carriedAs === null ? [] : [[carriedAs, sha256]])));
  return [...named]
    .sort(([a], [b]) => (a! < b! ? -1 : 1))
    .flatMap(([name, sha256]) => {
      const bytes = attachments.get(name!);
      return bytes === undefined ? [] : [{ name: name!, sha256: sha256!, bytes }];
    });
}
