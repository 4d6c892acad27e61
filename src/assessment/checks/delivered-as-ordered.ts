import { revisionKey } from '../../dossier/facts.js';
import { revisionSubject } from '../../dossier/signable.js';
import type { MaterialSpecification } from '../../kinds/material-specification.js';
import { materialSpecification } from '../../kinds/material-specification.js';
import type { Receipt } from '../../kinds/receipt.js';
import type { ClaimNote } from '../assessment.js';
import { orderedTo } from '../material-lines.js';
import { receiptsOfBuild } from '../materials.js';
import { approvalOf, isGood, standingOf, unapproved } from '../signed.js';
import { type Check, isAfter, subject, unitsOfBuild } from './check.js';
import type { FindingDraft, Told } from './finding-draft.js';

const DAY_MS = 86_400_000;
const { kind } = materialSpecification;

export const deliveredAsOrdered: Check = {
  code: 'delivered-as-ordered',
  since: 1,
  clause: 'ISO 13485:2016 7.4.2, 7.4.3, 7.5.8',
  moment: 'build',
  run(facts) {
    const claims: ClaimNote[] = [];
    const looked = new Set<string>();
    const findings = facts.lot.body.builds.flatMap(({ build, closedAt }) =>
      receiptsOfBuild(facts, build).flatMap((code): FindingDraft[] => {
        const receipt = facts.receipts.get(code)!.body;
        const ordered = orderedTo(facts, receipt);
        if (ordered === undefined) return [];
        looked.add(code);
        const name = revisionKey(ordered.body.material, ordered.body.revision);
        const common = {
          subjects: [subject('receipt', code), subject('build', build)],
          facts: { receipt: code, material: receipt.material, ordered: name },
          units: unitsOfBuild(facts, build),
        };
        const standing = standingOf(
          facts,
          revisionSubject({ ...ordered, kind, key: ordered.body.material }),
          ordered.body.approval,
        );
        const unsigned = unapproved(standing, common);
        if (isGood(standing)) claims.push(approvalOf(kind, ordered.body.material, standing));
        return [
          ...(unsigned ? [unsigned] : []),
          ...faultsOf(receipt, ordered.body, closedAt).map(
            ({ rule, told, isFinal }): FindingDraft => ({
              ...common,
              rule,
              facts: { ...common.facts, ...told },
              effect: 'cannot be decided',
              ...(isFinal ? {} : { mayBeDecided: 'concession' }),
            }),
          ),
        ];
      }),
    );
    return { findings, claims, basis: { receipts: [...looked].join(', ') }, doesNotApply: looked.size === 0 };
  },
};

interface Fault {
  readonly rule: string;
  readonly told?: Told;
  /** Nobody concedes it: what the metal is would not be known. */
  readonly isFinal?: true;
}

function faultsOf(receipt: Receipt, ordered: MaterialSpecification, closedAt: string): Fault[] {
  const { certificate, labelLot, supplierLot, receivedAt, container, material } = receipt;
  const { certificateTypes, shelfLifeDays, effectiveFrom } = ordered;
  const type = certificate?.type;
  const isOtherType = type !== undefined && certificateTypes !== undefined && !certificateTypes.includes(type);
  const days = shelfLifeDays === undefined ? 0 : daysBetween(receivedAt, closedAt);
  const faults: (Fault | false)[] = [
    material !== ordered.material && { rule: 'another material', isFinal: true },
    isAfter(effectiveFrom, receivedAt) && { rule: 'not yet effective', told: { effectiveFrom, receivedAt } },
    isOtherType && { rule: 'type not accepted', told: { type, types: certificateTypes.join(', ') } },
    labelLot === undefined && { rule: 'label not read' },
    labelLot !== undefined &&
      labelLot !== supplierLot && {
        rule: 'another lot on the label',
        told: { label: labelLot, supplierLot },
        isFinal: true,
      },
    container?.sealed === 'no' && { rule: 'seal broken' },
    container?.desiccantTouches === 'yes' && { rule: 'desiccant in it' },
    shelfLifeDays !== undefined &&
      days > shelfLifeDays && {
        rule: 'kept too long',
        told: { days: String(days), most: String(shelfLifeDays), closedAt },
      },
  ];
  return faults.filter((fault) => fault !== false);
}

/** Days between the calendar dates of two moments, as they are written. */
const daysBetween = (from: string, to: string): number =>
  Math.round((Date.parse(to.slice(0, 10)) - Date.parse(from.slice(0, 10))) / DAY_MS);
