import { z } from 'zod';
import { KINDS } from '../../src/kinds/catalogue.js';
import { Moment, PastDay, PastMoment } from '../../src/kinds/fields.js';
import { happened, hasHappened, timesThatHappened } from '../../src/kinds/happened.js';

const AT = '2031-03-03T08:00:00+01:00';

describe('times of facts in a document', () => {
  const timesIn = (schema: z.ZodType, body: unknown) =>
    timesThatHappened(schema, body).map(({ path, time }) => `${path.join('.')} ${time}`);

  it('are found wherever they stand, and others are not', () => {
    const schema = z.strictObject({
      at: PastMoment.describe('when it was done'),
      due: z.iso.date(),
      stays: z.array(z.strictObject({ from: PastMoment, to: PastMoment.optional() })).default([]),
      one: z.union([z.strictObject({ planned: z.iso.date() }), z.strictObject({ on: PastDay })]),
      named: z.record(z.string(), PastDay),
      early: z
        .preprocess(
          (value) => value,
          PastMoment.refine((text) => text !== ''),
        )
        .nullable(),
    });
    const body = {
      at: AT,
      due: '2031-04-01',
      stays: [{ from: AT }, { from: AT, to: AT }],
      one: { on: '2031-03-01' },
      named: { a: '2031-03-02' },
      early: AT,
    };
    expect(timesIn(schema, body)).toEqual([
      `at ${AT}`,
      `stays.0.from ${AT}`,
      `stays.1.from ${AT}`,
      `stays.1.to ${AT}`,
      'one.on 2031-03-01',
      'named.a 2031-03-02',
      `early ${AT}`,
    ]);
  });

  it('are none where the fields beside them say that it is still to come', () => {
    const build = z.strictObject({
      state: z.string().optional(),
      at: happened(Moment, ({ state }) => state === 'planned').optional(),
    });
    const body = [{ state: 'planned', at: AT }, { at: AT }];
    expect(timesIn(z.array(build), body)).toEqual([`1.at ${AT}`]);
  });
});

/** Each time of each kind: whether it has happened, or may lie ahead since it is due, planned, or valid from or until. */
const SENSES: Readonly<Record<string, { readonly happened: string; readonly ahead: string }>> = {
  family: { happened: 'approval.at', ahead: 'bodyCertificate.expiry effectiveFrom' },
  'route-permission': { happened: 'declaration.at approval.at', ahead: 'from to' },
  'design-envelope': { happened: 'approval.at', ahead: 'effectiveFrom' },
  case: { happened: 'prescription.at imagingDate status.at', ahead: 'neededBy surgeryOn' },
  'imaging-set': { happened: 'takenOn received.at', ahead: '' },
  'case-design': { happened: 'approval.at', ahead: '' },
  'design-acceptance': { happened: 'at', ahead: '' },
  'support-window': { happened: 'givenBy.at approval.at', ahead: '' },
  recipe: { happened: 'approval.at', ahead: 'effectiveFrom' },
  method: { happened: 'approval.at', ahead: 'effectiveFrom' },
  'process-validation': {
    happened: 'installation.at operation.at performance.at depositedMetal.analysedAt approval.at',
    ahead: 'validFrom validUntil',
  },
  'equivalence-study': { happened: 'approval.at', ahead: 'validFrom validUntil' },
  specification: { happened: 'approval.at', ahead: 'effectiveFrom pooling.from' },
  supplier: { happened: '', ahead: 'approvals.from approvals.to' },
  'material-specification': { happened: 'approval.at', ahead: 'effectiveFrom' },
  receipt: { happened: 'receivedAt acceptance.at certificate.issued', ahead: 'expiry' },
  'powder-state': { happened: 'madeAt tests.at', ahead: '' },
  consumable: { happened: 'inUseFrom retiredAt', ahead: '' },
  machine: { happened: 'upkeep.at', ahead: 'upkeep.due' },
  instrument: { happened: 'calibrations.at', ahead: 'calibrations.due' },
  person: { happened: '', ahead: 'qualifications.from qualifications.to' },
  lot: {
    happened:
      'opened.at builds.closedAt builds.openedAt builds.gas.from builds.lineClearance.at steps.at decisions.at invalidTests.at fates.at labels.inspected.at scans.at',
    ahead: '',
  },
  changeover: { happened: 'at', ahead: '' },
  'risk-build': { happened: 'at', ahead: '' },
  'process-load': { happened: 'startedAt at', ahead: 'expiry' },
  nonconformity: { happened: 'opened.at evaluation.at closure.at', ahead: '' },
  'rework-instruction': { happened: 'approval.at', ahead: 'effectiveFrom' },
  'unit-move': { happened: 'at', ahead: '' },
  'corrective-action': { happened: 'opened.at steps.doneOn effectiveness.on', ahead: 'steps.dueOn dueOn' },
  'storage-place': { happened: 'logs.from logs.to stays.from stays.to', ahead: '' },
  'test-medium': { happened: 'approval.at', ahead: 'effectiveFrom' },
  exposure: { happened: 'from to', ahead: '' },
  'stock-part': { happened: 'acceptance.at interface.prepared.at takenOff.at', ahead: '' },
  handover: { happened: 'at', ahead: '' },
  outcome: { happened: 'on', ahead: '' },
  'unit-return': { happened: 'at', ahead: '' },
  complaint: { happened: 'received.at evaluated.clockStart evaluated.at reports.at', ahead: 'evaluated.due' },
  disposal: { happened: 'at', ahead: '' },
  impact: { happened: 'from to', ahead: '' },
  recall: { happened: 'found.at notices.at clocks.start clocks.reported started closed', ahead: 'clocks.due' },
  'capability-plan': { happened: 'approval.at', ahead: 'baseline.from baseline.to effectiveFrom' },
  'signal-outcome': { happened: 'at', ahead: '' },
  'design-plan': { happened: 'approval.at', ahead: 'stages.due' },
  'user-need': { happened: 'approval.at', ahead: '' },
  'design-input': { happened: 'approval.at', ahead: '' },
  'design-output': { happened: 'approval.at', ahead: '' },
  'design-study': { happened: 'protocol.approvedAt from to report.at approval.at', ahead: '' },
  'design-review': { happened: 'on actions.doneOn approval.at', ahead: 'actions.due' },
  hazard: { happened: 'approval.at', ahead: '' },
  'risk-control': { happened: 'approval.at', ahead: '' },
  'design-change': { happened: 'approval.at', ahead: '' },
  'design-transfer': { happened: 'on approval.at', ahead: '' },
  'labelling-decision': { happened: 'approval.at', ahead: '' },
  software: { happened: 'validatedBy.on approval.at', ahead: '' },
  'gap-answer': { happened: 'given.at', ahead: 'until' },
  'program-version': { happened: 'checkedOn approval.at', ahead: '' },
};

it.each(KINDS.map((kind) => [kind.kind, kind.schema] as const))(
  'says of each time in a %s what it is',
  (kind, schema) => {
    const times = timesOf(schema);
    const named = (happens: boolean) => times.filter((time) => time.happens === happens).map(({ field }) => field);
    const { happened: past, ahead } = SENSES[kind] ?? { happened: '', ahead: '' };
    expect({ happened: named(true).join(' '), ahead: named(false).join(' ') }).toEqual({ happened: past, ahead });
  },
);

interface TimeField {
  readonly field: string;
  readonly happens: boolean;
}

/** Every field of a schema that holds a time. */
function timesOf(schema: z.core.$ZodType, field = ''): TimeField[] {
  if (hasHappened(schema)) return [{ field, happens: true }];
  const { def } = (schema as z.core.$ZodTypes)._zod;
  if (def.type === 'object') {
    return Object.entries(def.shape).flatMap(([name, inner]) =>
      timesOf(inner, field === '' ? name : `${field}.${name}`),
    );
  }
  if (def.type === 'string') {
    const isTime = ['datetime', 'date'].includes((def as { format?: string }).format ?? '');
    return isTime ? [{ field, happens: false }] : [];
  }
  const inside = Object.values(def)
    .flat()
    .filter((value) => value instanceof z.core.$ZodType)
    .flatMap((inner) => timesOf(inner, field));
  return [...new Map(inside.map((time) => [time.field, time])).values()];
}
