import { partsBy, partsInLot } from '../../assessment/parts-in-lot.js';
import { type SignedStatement, type Statement, soleSubject } from '../../dossier/statement.js';
import type { RecordPage } from '../../pdf/page.js';
import type { Span } from '../../pdf/text-layout.js';
import { PARTS_ANCHOR, signatureAnchor } from '../../report/anchors.js';
import { vouchedText } from '../../report/phrases/accounts.js';
import { meaningText } from '../../report/phrases/codes.js';
import { DECISION } from '../../report/phrases/decision.js';
import { independenceText, PARTS, partTexts } from '../../report/phrases/parts-in-lot.js';
import { RELEASE } from '../../report/phrases/record-release.js';
import { signedAsText } from '../../report/phrases/release-steps.js';
import { contentText, signedAtText, signerKeyText, subjectText } from '../../report/phrases/signatures.js';
import { independenceOf } from '../independence.js';
import { type RecordView, tellsOf } from '../record-view.js';
import { signaturesOf } from '../signatures.js';
import { entriesOfStatements } from './audit-trail.js';
import { personText } from './post-process.js';

/** Name, role, meaning, time and what exactly was signed (21 CFR 11.50, 11.70); those on the lot file first. */
export function drawSignaturePage(pdf: RecordPage, view: RecordView): void {
  const signatures = signaturesOf(view);
  const isOfLot = new Set(view.enclosure.signatures.map(({ digest }) => digest));
  const isTold = tellsOf(view);
  const entries = entriesOfStatements(view.enclosure);
  const what = (statement: Statement) => subjectText({ ...statement, units: statement.units.filter(isTold) });
  const content = ({ statement, digest }: SignedStatement): Span[] => [
    { text: contentText(statement), style: 'mono' },
    RELEASE.entryOf(entries.get(digest)),
  ];
  pdf.table({
    caption: RELEASE.ofLot,
    columns: [
      { head: RELEASE.signedBy, width: 3.2 },
      { head: RELEASE.meaningAndTime, width: 3 },
      { head: RELEASE.what, width: 4 },
      { head: RELEASE.independenceAndReason, width: 5 },
    ],
    // The last word on the lot is the one that counts.
    rows: signatures
      .filter(({ digest }) => isOfLot.has(digest))
      .reverse()
      .map((signed) => ({
        cells: [
          signerKeyText(signed.statement),
          RELEASE.asAndWhen(signedAsText(signed.statement), signedAtText(signed.statement)),
          [
            `${what(signed.statement)}, `,
            ...content(signed),
            isOnShown(view, signed.statement) ? '' : RELEASE.earlierState,
          ],
          RELEASE.howAndWhy(
            independenceText(independenceOf(view, signed.statement)),
            signed.statement.reason ?? DECISION.noReason,
          ),
        ],
        anchor: signatureAnchor(signed.digest),
      })),
    empty: RELEASE.nobodySigned,
  });
  pdf.table({
    caption: RELEASE.statements,
    columns: [
      { head: RELEASE.signedByAs, width: 5.6 },
      { head: RELEASE.whatAndContent, width: 10.6 },
    ],
    rows: alike(
      view,
      signatures.filter(({ digest }) => !isOfLot.has(digest)),
    ).map(({ cells, members }) => [
      cells.join('; '),
      members.flatMap((signed, index) => {
        const { reason } = signed.statement;
        const says = reason === null ? what(signed.statement) : RELEASE.whatFor(what(signed.statement), reason);
        const at = signedAtText(signed.statement);
        const isNew = index === 0 || at !== signedAtText(members[index - 1]!.statement);
        return [`${index === 0 ? '' : '; '}${isNew ? RELEASE.atTime(at) : ''}${says} `, ...content(signed)];
      }),
    ]),
    empty: RELEASE.none,
  });
  pdf.paragraph(RELEASE.contentNote, { small: true });
  pdf.table({
    caption: RELEASE.keysOfPeople,
    columns: [
      { head: PARTS.person, width: 2.6 },
      { head: RELEASE.fingerprint, width: 9.4 },
      { head: RELEASE.keyMade, width: 3 },
    ],
    rows: view.enclosure.people.map((key) => [
      `${key.name} (${key.person})`,
      [{ text: key.fingerprint, style: 'mono' as const }],
      RELEASE.madeAndVouched(key.madeAt.slice(0, 10), vouchedText(key)),
    ]),
    empty: RELEASE.none,
  });
  drawParts(pdf, view);
}

/** Whether somebody signed the very lot file that the record shows. */
export const isOnShown = ({ enclosure }: Pick<RecordView, 'enclosure'>, statement: Statement): boolean =>
  soleSubject(statement).digest === enclosure.dossierSha256;

/** Statements of one person in one role with one key and one meaning, as independent, in the order of signing. */
function alike(
  view: RecordView,
  signatures: readonly SignedStatement[],
): { readonly cells: readonly string[]; readonly members: SignedStatement[] }[] {
  const groups = new Map<string, { readonly cells: readonly string[]; readonly members: SignedStatement[] }>();
  for (const signed of signatures) {
    const { statement } = signed;
    const independence = independenceText(independenceOf(view, statement));
    const cells = [signerKeyText(statement), meaningText(statement.meaning), independence];
    const group = groups.get(cells.join('\n')) ?? { cells, members: [] };
    groups.set(cells.join('\n'), group);
    group.members.push(signed);
  }
  return [...groups.values()];
}

/** Everything that each person did for the lot: what a reader needs to judge independence by themselves. What they signed stands above. */
function drawParts(pdf: RecordPage, { facts }: RecordView): void {
  const signers = new Map(facts.signatures.map(({ statement: { person } }) => [person.code, person.name]));
  const nameOf = (code: string) => (signers.has(code) ? `${signers.get(code)} (${code})` : personText(facts, code));
  const people = [...new Set(partsInLot(facts).map(({ person }) => person))].sort();
  pdf.anchor(PARTS_ANCHOR);
  pdf.table({
    caption: PARTS.caption,
    columns: [
      { head: PARTS.person, width: 2.6 },
      { head: PARTS.parts, width: 13.4 },
    ],
    rows: people.map((code) => {
      const own = partsBy(facts, code);
      const signed = own.filter(({ how }) => how === 'signed');
      const others = own.filter(({ how }) => how !== 'signed');
      const says = [...partTexts(others), ...(signed.length > 0 ? [PARTS.signed(signed.length)] : [])];
      return [nameOf(code), says.join('; ')];
    }),
  });
}
