import { Document, stringify } from 'yaml';
import { PREPARED_LOT } from '../report/phrases/prepared-lot.js';
import type { PreparedLot } from './prepared-lot.js';

/** The lot file as far as it is known; what is missing is null. */
export const plannedDocument = ({ names, basis, family, specification, implants, coupons }: PreparedLot) => ({
  kind: 'lot',
  format: 1,
  lot: names.lot,
  family,
  specification,
  opened: { by: null, at: names.openedAt },
  builds: [
    {
      state: 'planned',
      build: names.build,
      machine: basis.recipe.body.machine,
      run: names.run,
      closedAt: null,
      openedAt: null,
      operator: null,
      powder: [{ state: null, chargedG: null }],
    },
  ],
  implants,
  coupons,
});

/** The lot file: known fields are filled in, values that are missing are empty, what is done later stands as comments. */
export function lotText(lot: PreparedLot): string {
  const { basis, steps, usedUp } = lot;
  const document = new Document(plannedDocument(lot), { aliasDuplicateObjects: false });
  document.commentBefore = PREPARED_LOT.head(basis.case.key, basis.design.revision);
  const say = (path: readonly (string | number)[], comment: string) => {
    (document.getIn(path, true) as { comment?: string }).comment = comment;
  };
  say(['opened', 'by'], PREPARED_LOT.openedBy);
  say(['builds', 0, 'state'], PREPARED_LOT.state);
  say(['builds', 0, 'closedAt'], PREPARED_LOT.closedAt);
  say(['builds', 0, 'openedAt'], PREPARED_LOT.openedAt);
  say(['builds', 0, 'operator'], PREPARED_LOT.operator);
  say(['builds', 0, 'powder', 0, 'state'], PREPARED_LOT.powder);
  say(['builds', 0, 'powder', 0, 'chargedG'], PREPARED_LOT.charged);
  return [
    document.toString({ nullStr: '', lineWidth: 0 }),
    ...later(
      'steps',
      PREPARED_LOT.steps,
      steps.map((step) => `{ step: ${step}, at: , by: }`),
    ),
    ...later(
      'fates',
      PREPARED_LOT.fates,
      usedUp.map((part) => `{ part: ${stringify(part).trim()}, as: tested, at: , by: }`),
    ),
  ].join('');
}

/** A list that grows as things are done: as comments that become its lines when their sign is taken away. */
function later(field: string, says: string, items: readonly string[]): string[] {
  if (items.length === 0) return [];
  return [`#${says}\n`, `#${field}:\n`, ...items.map((item) => `#  - ${item}\n`)];
}
