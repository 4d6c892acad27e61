import path from 'node:path';
import { Injectable } from '@nestjs/common';
import { Eta } from 'eta';
import { shownPlainly } from '../base/characters.js';
import { SiteZone } from '../base/clock.js';
import { PROGRAM_ROOT, programName } from '../base/settings.js';
import { timeText } from '../dossier/time-text.js';
import { perUnit, tradeUnit } from '../dossier/unit-text.js';
import { anchorId } from '../report/anchors.js';
import { blockersTogether } from '../report/blockers-together.js';
import {
  findAddress,
  happenedAddress,
  implantAddress,
  lotAddress,
  lotAnchorAddress,
  nonconformityAddress,
} from '../report/page-addresses.js';
import { actNameText } from '../report/phrases/acts.js';
import { capital } from '../report/phrases/capital.js';
import {
  checkOutcomeText,
  decisionOutcomeText,
  effectText,
  levelText,
  meaningText,
  revisionStateText,
  roleText,
  verdictText,
} from '../report/phrases/codes.js';
import { decisionText } from '../report/phrases/decision.js';
import { entryText } from '../report/phrases/kinds.js';
import { FOOT_WORDS, HEAD_WORDS } from '../report/phrases/page-frame.js';
import { PAGE_TITLES } from '../report/phrases/page-titles.js';
import { PASSKEY_WORDS } from '../report/phrases/passkeys.js';
import { signedAsText } from '../report/phrases/release-steps.js';
import { reviewKindText } from '../report/phrases/review-items.js';
import { recoveredText, signerInLineText } from '../report/phrases/signatures.js';
import { fileUseText, powderOperationText, receiptStatusText, stepText } from '../report/phrases/trade-codes.js';
import { whichUnitsText } from '../report/phrases/which-units.js';
import { standardTemplate } from '../report/standard-template.js';
import { unitsTogether } from '../report/units-together.js';
import { Store } from '../store/store.js';
import { alignDecimals } from './decimal-column.js';
import { LONGEST_REASON, LONGEST_TYPED_PASSWORD } from './fields.js';
import { formNumber } from './form-once.js';
import { currentSession, type Session } from './identity.js';
import { labelCells } from './label-cells.js';
import { minusSigns } from './minus-signs.js';
import { passkeyNumber } from './passkey-ask.js';
import { siteTimes } from './site-times.js';

export const PAGE_TEMPLATES = path.join(PROGRAM_ROOT, 'templates', 'pages');

/** What templates may call. Everything printed by a template is escaped unless it says otherwise. */
const HELPERS = {
  /** Class of a verdict, an outcome or a level: `does-not-conform`. */
  mark: (words: string) => words.replaceAll(' ', '-'),
  id: anchorId,
  find: findAddress,
  lotPage: lotAddress,
  lotPlace: lotAnchorAddress,
  happened: happenedAddress,
  implant: implantAddress,
  url: (part: string) => encodeURIComponent(part),
  short: (sha256: string) => sha256.slice(0, 12),
  capital,
  decision: decisionText,
  verdict: verdictText,
  checkOutcome: checkOutcomeText,
  effect: effectText,
  level: levelText,
  meaning: meaningText,
  time: timeText,
  signedAs: signedAsText,
  signer: signerInLineText,
  recovered: recoveredText,
  outcome: decisionOutcomeText,
  role: roleText,
  act: actNameText,
  entry: entryText,
  fileUse: fileUseText,
  powderOperation: powderOperationText,
  receiptStatus: receiptStatusText,
  reviewKind: reviewKindText,
  revisionState: revisionStateText,
  step: stepText,
  json: (value: unknown) => JSON.stringify(value, null, 2),
  aligned: alignDecimals,
  together: blockersTogether,
  unitsTogether,
  openNonconformity: nonconformityAddress,
  whichUnits: whichUnitsText,
  unit: tradeUnit,
  perUnit,
  formNumber,
  longestReason: LONGEST_REASON,
  longestPassword: LONGEST_TYPED_PASSWORD,
};

/** As HTML, with whatever would turn the text around it written out: so no text looks like another one. */
const { escapeFunction } = new Eta().config;
const escaped = (value: unknown): string => escapeFunction(shownPlainly(String(value)));

/** Who is signed in, for the head of the page, whether they may act at all, and the token that each form carries. */
function identityView() {
  const session = currentSession();
  if (!session) return { csrf: '', readsOnly: true };
  const readsOnly = session.acting.some(({ role }) => role === 'auditor');
  const roles = session.acting.map(({ role, deputyFor }) =>
    deputyFor === null ? roleText(role) : `${roleText(role)} for ${deputyFor}`,
  );
  return {
    csrf: session.csrf,
    readsOnly,
    signedIn: { person: session.person, name: session.name, roles: roles.join(', ') },
    ...passkeyView(session),
  };
}

/** Where the person has passkeys, each form that asks for a password asks for one of them too, by our script. */
const passkeyView = ({ id, passkeys }: Session) =>
  passkeys.length === 0 ? {} : { ownScript: true, passkey: () => passkeyMarks(id, passkeys) };

/**
 * What a form carries for passkeys.
 * @param session to which its number is given.
 * @param own identifiers of those of whoever sends it.
 * @param others the same of those who may stand beside them in the form, by their codes.
 */
export const passkeyMarks = (
  session: string,
  own: readonly string[],
  others: Readonly<Record<string, readonly string[]>> = {},
) => ({ number: passkeyNumber(session), own, others, words: PASSKEY_WORDS });

/** What a template shows; `errors` is what is wrong with the form of the page. */
interface View {
  readonly errors?: readonly unknown[];
  /** Whether the page runs the script of passkeys. */
  readonly ownScript?: boolean;
  readonly [name: string]: unknown;
}

/** Pages of the service: templates filled with plain views. */
@Injectable()
export class Pages {
  private readonly eta = new Eta({ views: PAGE_TEMPLATES, cache: true, escapeFunction: escaped });

  private readonly zone: SiteZone;

  constructor(private readonly store: Store) {
    this.zone = new SiteZone(store.clock);
  }

  /**
   * @param name file name of the template below `templates/pages`, without ending.
   * @param view where something is wrong with the form, the title says so first, for whoever has it read out.
   */
  render(name: string, title: string, view: View = {}): string {
    const html = this.eta.render(`./${name}`, {
      ...identityView(),
      ...view,
      words: HEAD_WORDS,
      footWords: FOOT_WORDS,
      title,
      headTitle: (view.errors ?? []).length > 0 ? PAGE_TITLES.error(title) : title,
      h: HELPERS,
      program: programName(),
      demo: this.store.folder.demo,
      demoDay: this.store.clock.now().toISOString().slice(0, 10),
      cautions: standardTemplate().cautions,
    });
    return minusSigns(siteTimes(labelCells(html), this.zone));
  }
}
