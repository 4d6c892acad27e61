import { timeText } from '../../dossier/time-text.js';
import { kindNamed } from '../../kinds/catalogue.js';
import { sheetsAddress } from '../../report/page-addresses.js';
import { kindText } from '../../report/phrases/kinds.js';
import { TODAY } from '../../report/phrases/today.js';
import { SECOND, SHEET } from '../../sheets/result-sheets.js';
import { LOT, METHOD } from '../../sheets/sheet-fields.js';
import type { DraftRow } from '../../store/draft-rows.js';
import type { Duty } from './duty.js';

/** Sheets and forms that a person began and did not hand over or store, the last one first. */
export function draftDuties(drafts: readonly DraftRow[]): Duty[] {
  return drafts.flatMap(({ name, kind, fields: text, changedAt }): Duty[] => {
    const common = { topic: 'make' as const, units: [], by: null, overdue: false };
    const path = encodeURIComponent(name);
    if (kind === SHEET || kind === SECOND) {
      const { [LOT]: lot = '', [METHOD]: method = '' } = JSON.parse(text) as Record<string, string>;
      const to = `${sheetsAddress(lot)}/${path}`;
      const what = TODAY.sheetBegun(method.replace(':', ' rev '), timeText(changedAt));
      return [{ ...common, what, of: { text: lot, href: sheetsAddress(lot) }, button: { text: TODAY.goOn, href: to } }];
    }
    if (kindNamed(kind) === undefined) return [];
    const button = { text: TODAY.goOn, href: `/enter/${encodeURIComponent(kind)}/${path}` };
    return [{ ...common, what: TODAY.formBegun(kindText(kind), timeText(changedAt)), of: null, button }];
  });
}
