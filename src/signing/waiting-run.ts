import type { INestApplicationContext } from '@nestjs/common';
import type { Output } from '../cli/output.js';
import { timeText } from '../dossier/time-text.js';
import { Accounts } from '../people/accounts.js';
import { SIGNING_LINES } from '../report/phrases/commands/signing.js';
import { RESULT_SHEETS } from '../report/phrases/result-sheets.js';
import { waitingSheets } from '../sheets/handed-sheets.js';
import { Store } from '../store/store.js';
import { SigningModule } from './signing.module.js';
import { WaitingList } from './waiting-list.js';

export const module = SigningModule;

export async function run(
  context: INestApplicationContext,
  out: Output,
  options: { person?: string },
): Promise<number> {
  const isFor = ({ who }: { readonly who: readonly string[] }) =>
    options.person === undefined || who.includes(options.person);
  const shown = (await context.get(WaitingList).all()).filter(isFor);
  const sheets = (await waitingSheets(context.get(Store), await context.get(Accounts).people())).filter(isFor);
  out.object({ waiting: shown, sheets });
  if (shown.length + sheets.length === 0) out.line(SIGNING_LINES.nothingWaits);
  for (const { title, meaning, step, lot, neededBy, who, thing } of shown) {
    out.line(SIGNING_LINES.waits({ meaning, step }, title, lot === null ? '' : SIGNING_LINES.ofLot(lot, neededBy)));
    out.line(`  ${SIGNING_LINES.who(who)}`);
    out.line(`  "${thing}"`);
  }
  for (const { lot, method, values, typedBy, at, who } of sheets) {
    out.line(RESULT_SHEETS.waitsAgain(lot, RESULT_SHEETS.handed(method, values, typedBy, timeText(at))));
    out.line(`  ${RESULT_SHEETS.who(who)}`);
  }
  return 0;
}
