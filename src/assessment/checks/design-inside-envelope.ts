import { compareDecimal } from '../../base/decimal.js';
import { type Facts, revisionKey } from '../../dossier/facts.js';
import { revisionSubject } from '../../dossier/signable.js';
import type { CaseDesign } from '../../kinds/cases/case-design.js';
import type { DesignEnvelope } from '../../kinds/cases/design-envelope.js';
import { isNeeded } from '../../kinds/route-needs.js';
import type { ClaimNote } from '../assessment.js';
import { type BuiltDesign, builtDesigns, type OfCase } from '../built-designs.js';
import { inUnit } from '../in-unit.js';
import { approvalOf, isGood, standingOf, unapproved } from '../signed.js';
import { type Check, isAfter, subject } from './check.js';
import type { FindingDraft, Told } from './finding-draft.js';

export const designInsideEnvelope: Check = {
  code: 'design-inside-envelope',
  since: 1,
  clause: 'ISO 13485:2016 7.3.3, 7.3.4, 7.3.7; IMDRF/PMD WG/N74 (from memory)',
  moment: 'build',
  looksAtCases: true,
  run(facts) {
    const claims: ClaimNote[] = [];
    const asked = builtDesigns(facts).filter(({ isAsked }) => isAsked);
    return {
      findings: asked.flatMap((built) => new DesignJudge(facts, built, claims).findings()),
      claims,
      basis: { designs: String(asked.length) },
      doesNotApply: asked.length === 0,
    };
  },
};

/** What stands against one built design; it names parameters, and tells nothing of what the case asks of them. */
class DesignJudge {
  private readonly told: Told;

  constructor(
    private readonly facts: Facts,
    private readonly built: BuiltDesign,
    private readonly claims: ClaimNote[],
  ) {
    this.told = { case: built.code, iteration: String(built.iteration) };
  }

  findings(): FindingDraft[] {
    const { design } = this.built;
    if (!design) return [this.finding('no design', {}, { wantsEvidence: true })];
    return [...this.approved(design), ...this.inside(design.body)];
  }

  private inside(design: CaseDesign): FindingDraft[] {
    // The signature on the design is one on why it leaves the envelope, or needs none.
    if (design.outside !== undefined) return this.isBound() ? [this.finding('outside on this route', {})] : [];
    const { envelope } = this.built;
    if (!envelope) return [this.finding('no envelope', {})];
    const name = revisionKey(envelope.body.envelope, envelope.body.revision);
    return [
      ...this.approved(envelope),
      ...(isAfter(envelope.body.effectiveFrom, this.built.builtAt)
        ? [this.finding('envelope not yet effective', { envelope: name }, { mayBeDecided: 'concession' })]
        : []),
      ...design.parameters.flatMap((item) => this.parameter(item, envelope.body, name)),
      ...envelope.body.parameters
        .filter(({ parameter }) => !design.parameters.some((item) => item.parameter === parameter))
        .map(({ parameter }) => this.finding('parameter not stated', { envelope: name, parameter })),
      ...(envelope.body.sites.includes(design.anatomicalSite)
        ? []
        : [this.finding('site not covered', { envelope: name })]),
      ...(envelope.body.sides.includes(design.side) ? [] : [this.finding('side not covered', { envelope: name })]),
    ];
  }

  private parameter(item: CaseDesign['parameters'][number], { parameters }: DesignEnvelope, envelope: string) {
    const range = parameters.find(({ parameter }) => parameter === item.parameter);
    // A name that stands in the design alone belongs to the case alone.
    if (!range) return [this.finding('parameter not covered', { envelope })];
    const told = { envelope, parameter: range.parameter };
    const value = inUnit(item, range.ucum);
    if (value === undefined) return [this.finding('units do not compare', told)];
    const isInside = compareDecimal(value, range.min) >= 0 && compareDecimal(value, range.max) <= 0;
    return isInside ? [] : [this.finding('outside the envelope', told, { effect: 'does not conform' })];
  }

  /** Of the design, and of the envelope that it lies in: approved, and before anything was built by it. */
  private approved(document: OfCase<CaseDesign | DesignEnvelope>): FindingDraft[] {
    const { kind, key, revision, body } = document;
    const standing = standingOf(this.facts, revisionSubject(document), body.approval);
    const told = { kind, document: revisionKey(key, revision) };
    const unsigned = unapproved(standing, { subjects: [subject(kind, key)], facts: told, units: this.built.serials });
    if (unsigned) return [unsigned];
    if (!isGood(standing)) return [];
    if (isAfter(standing.at, this.built.builtAt)) {
      const late = { ...told, approvedAt: standing.at, closedAt: this.built.builtAt };
      return [this.finding('approved after the build', late, { effect: 'blocks release', mayBeDecided: 'decision' })];
    }
    this.claims.push(approvalOf(kind, key, standing));
    return [];
  }

  /** Whether the route lets no design leave its envelope; where no law is named, by the route of the family. */
  private isBound(): boolean {
    const { laws } = this.built;
    return laws.length === 0 ? this.facts.family.body.route === 'patient-matched' : isNeeded('envelope', laws);
  }

  private finding(rule: string, told: Told, more: Partial<FindingDraft> = {}): FindingDraft {
    return {
      rule,
      subjects: [subject('case', this.built.code)],
      facts: { ...this.told, ...told },
      effect: 'cannot be decided',
      units: this.built.serials,
      ...more,
    };
  }
}
