import { type Facts, type Recorded, revisionKey } from '../dossier/facts.js';
import { useOfFile } from '../dossier/file-use.js';
import type { CasePart, Pinned } from '../dossier/schema.js';
import { closuresOf } from '../kinds/build-chain.js';
import type { Case } from '../kinds/case.js';
import { type CaseDesign, caseDesign } from '../kinds/cases/case-design.js';
import { type DesignAcceptance, designAcceptance } from '../kinds/cases/design-acceptance.js';
import { type DesignEnvelope, designEnvelope } from '../kinds/cases/design-envelope.js';
import { type ImagingSet, imagingSet } from '../kinds/cases/imaging-set.js';
import { readBody } from '../kinds/formats.js';
import type { DeclaredKind } from '../kinds/kind.js';
import { isMadeForOne, type LawOfCase, lawsOfCase } from '../kinds/laws.js';
import type { Implant } from '../kinds/lot.js';

/** A document of a case as it is pinned. */
export type OfCase<T> = Recorded<T> & Pick<Pinned, 'kind' | 'key'>;

/** The implants of a case that were built from one iteration of its design, with what is known of that. */
export interface BuiltDesign {
  /** Code of the case. */
  readonly code: string;
  readonly case: Case;
  readonly iteration: number;
  readonly implants: readonly Implant[];
  readonly serials: readonly string[];
  /** When the chamber closed on the first of them. */
  readonly builtAt: string;
  /** The iteration that was built, where it is on record. */
  readonly design: OfCase<CaseDesign> | undefined;
  /** The envelope that it names. */
  readonly envelope: OfCase<DesignEnvelope> | undefined;
  /** The last iteration on record, 0 where there is none. */
  readonly newest: number;
  readonly acceptance: OfCase<DesignAcceptance> | undefined;
  readonly imagingSets: readonly OfCase<ImagingSet>[];
  /** SHA-256 of the model of the iteration; of every model of the case where its bytes are those of another iteration. */
  readonly models: readonly string[];
  readonly laws: readonly LawOfCase[];
  /** Whether a law asks for a design of its own, or one is there without being asked for. */
  readonly isAsked: boolean;
}

const KNOWN = new WeakMap<Facts, readonly BuiltDesign[]>();

/** What was built for every case whose part is given, iteration by iteration. */
export function builtDesigns(facts: Facts): readonly BuiltDesign[] {
  const known = KNOWN.get(facts) ?? [...facts.cases].flatMap(([code, found]) => ofCase(facts, code, found.body));
  KNOWN.set(facts, known);
  return known;
}

function ofCase(facts: Facts, code: string, body: Case): BuiltDesign[] {
  const { lot, family, caseParts } = facts;
  const part = caseParts.get(code)!;
  const own = lot.body.implants.filter((implant) => implant.case === code);
  const designs = documentsOf(part, caseDesign);
  const acceptances = documentsOf(part, designAcceptance);
  const imagingSets = documentsOf(part, imagingSet);
  const laws = lawsOfCase(family.body, body);
  const newest = Math.max(0, ...designs.map(({ revision }) => revision));
  return [...new Set(own.map(({ designIteration }) => designIteration))].map((iteration) => {
    const implants = own.filter(({ designIteration }) => designIteration === iteration);
    const design = designs.find(({ revision }) => revision === iteration);
    return {
      code,
      case: body,
      iteration,
      implants,
      serials: implants.map(({ serial }) => serial),
      builtAt: firstClosure(facts, implants),
      design,
      envelope: design && envelopeOf([...part.pinned, ...facts.dossier.pinned], design.body),
      newest,
      acceptance: acceptances.find((one) => one.body.iteration === iteration),
      imagingSets: imagingSets.filter((set) => design?.body.imagingSets.includes(set.body.imagingSet)),
      models: modelsOf(part, designs, iteration),
      laws,
      isAsked: laws.some(isMadeForOne) || designs.length > 0,
    };
  });
}

function envelopeOf(pinned: readonly Pinned[], { envelope }: CaseDesign): OfCase<DesignEnvelope> | undefined {
  if (envelope === undefined) return undefined;
  const item = pinned.find(
    ({ kind, key, revision }) =>
      kind === designEnvelope.kind && key === envelope.envelope && revision === envelope.revision,
  );
  return item && { ...item, body: readBody(designEnvelope, item.body, () => {}) };
}

function documentsOf<T>({ pinned }: CasePart, kind: DeclaredKind<T>): OfCase<T>[] {
  return pinned
    .filter((item) => item.kind === kind.kind)
    .map((item) => ({ ...item, body: readBody(kind, item.body, () => {}) }));
}

function firstClosure({ lot }: Facts, implants: readonly Implant[]): string {
  const closures = new Set(implants.flatMap(closuresOf));
  const times = lot.body.builds.filter(({ build }) => closures.has(build)).map(({ closedAt }) => closedAt);
  return times.reduce((first, next) => (Date.parse(next) < Date.parse(first) ? next : first));
}

/** A file is listed once, by its first use. */
function modelsOf({ evidence }: CasePart, designs: readonly OfCase<CaseDesign>[], iteration: number): string[] {
  const used = (design: OfCase<CaseDesign>) => {
    const use = useOfFile('model', { kind: design.kind, key: revisionKey(design.key, design.revision) });
    return evidence.filter((file) => file.use === use).map(({ sha256 }) => sha256);
  };
  const own = designs.filter(({ revision }) => revision === iteration).flatMap(used);
  return own.length > 0 ? own : designs.flatMap(used);
}
