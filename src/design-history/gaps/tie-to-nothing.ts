import { HISTORY_KINDS } from '../../kinds/design-history/history-kinds.js';
import { pinOf } from '../pinned.js';
import { type GapRule, ref } from './gap-rule.js';

export const tieToNothing: GapRule = {
  code: 'tie-to-nothing',
  clause: 'ISO 13485:2016 4.2.4',
  find: (design) =>
    HISTORY_KINDS.flatMap((kind) => design.tiesFrom(kind))
      .filter(({ link }) => link.revision !== undefined && design.revision(pinOf(link)) === undefined)
      .map(({ from, link }) => ({
        subjects: [ref(from), ref(link)],
        detail: link.field,
        facts: { field: link.field, revision: String(link.revision) },
      })),
};
