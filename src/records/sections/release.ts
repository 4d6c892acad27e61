import { timeText } from '../../dossier/time-text.js';
import type { RecordPage } from '../../pdf/page.js';
import type { Text } from '../../pdf/text-layout.js';
import { short, signatureAnchor } from '../../report/anchors.js';
import { basisWords, checkTitle, findingWords } from '../../report/assessment-words.js';
import { DECISION } from '../../report/phrases/decision.js';
import {
  contentText,
  independenceText,
  signedAtText,
  signerText,
  subjectText,
} from '../../report/phrases/signatures.js';
import { type RecordView, shownUnits } from '../record-view.js';
import { decisionOf, signaturesOf } from '../signatures.js';

/** What people decided on each implant, and each rule that a reviewer applies with what would clear what is open. */
export function drawRelease(pdf: RecordPage, view: RecordView): void {
  const { manufacturer, bodyCertificate } = view.facts.family.body;
  pdf.facts([
    [
      'Ensures conformity (Regulation (EU) 2017/745 article 15)',
      manufacturer?.responsiblePerson ?? 'the family names nobody',
    ],
    [
      'Certificate of the notified body',
      bodyCertificate
        ? `${bodyCertificate.number} of ${bodyCertificate.body}, ${bodyCertificate.scope}, until ${bodyCertificate.expiry}`
        : 'the family names none',
    ],
  ]);
  pdf.table({
    caption: 'Decision on each implant',
    columns: [
      { head: 'Serial', width: 2 },
      { head: 'Proposed outcome', width: 2.4 },
      { head: 'Decision', width: 3.4 },
      { head: 'Reason given', width: 4 },
      { head: 'Statement', width: 1.8 },
    ],
    rows: shownUnits(view).map((unit) => {
      const signed = decisionOf(view, unit.serial);
      return {
        cells: [
          unit.serial,
          unit.verdict,
          signed ? DECISION.by(signed.statement.meaning, signed.statement.person.name) : DECISION.open,
          signed?.statement.reason ?? (signed ? DECISION.noReason : ''),
          signed ? statementLink(signed.digest) : '',
        ],
        attention: unit.verdict !== 'conforms',
      };
    }),
  });
  pdf.table({
    caption: 'Holds and revocations, which lie over whatever was decided',
    columns: [
      { head: 'What', width: 2 },
      { head: 'Implants', width: 3 },
      { head: 'At', width: 2.4 },
      { head: 'By', width: 2 },
      { head: 'Reason', width: 4.4 },
    ],
    rows: view.enclosure.states.map(({ what, units, at, by, reason }) => [
      what.replace('-', ' '),
      units.join(', ') || 'the whole lot',
      timeText(at),
      by,
      reason,
    ]),
    empty: 'None.',
  });
  drawChecks(pdf, view);
}

export const statementLink = (digest: string): Text => [
  { text: short(digest), style: 'mono', to: signatureAnchor(digest) },
];

function drawChecks(pdf: RecordPage, view: RecordView): void {
  const { assessment } = view;
  const shown = new Set(shownUnits(view).map((unit) => unit.serial));
  pdf.heading(2, 'Release checks');
  pdf.table({
    caption: 'Checks in the order in which a lot meets them',
    columns: [
      { head: 'Check', width: 3.6 },
      { head: 'Serves', width: 2.6 },
      { head: 'Outcome', width: 1.8 },
      { head: 'Looked at', width: 5 },
    ],
    rows: assessment.checks.map((check) => ({
      cells: [checkTitle(check.code), check.clause, check.outcome, basisWords(check) || 'nothing'],
      attention: check.outcome === 'fails' || check.outcome === 'cannot be decided',
    })),
  });
  pdf.anchor('open tests');
  pdf.table({
    caption: 'Tests that are due after release and not there yet',
    columns: [
      { head: 'Implant', width: 2 },
      { head: 'Characteristic', width: 4 },
      { head: 'Late from', width: 3 },
    ],
    rows: shownUnits(view).flatMap((unit) =>
      unit.open.map((test) => [unit.serial, test.characteristic, timeText(test.until)]),
    ),
    empty: 'None.',
  });
  const findings = assessment.checks.flatMap((check) =>
    check.findings.map((finding) => ({ check, finding, words: findingWords(check.code, finding) })),
  );
  pdf.table({
    caption: 'What stands against release, and what would clear it',
    columns: [
      { head: 'Check', width: 2.4 },
      { head: 'Effect', width: 1.6 },
      { head: 'What', width: 4.6 },
      { head: 'Implants', width: 1.8 },
      { head: 'Who can clear it, and how', width: 4 },
    ],
    rows: findings
      .filter(({ finding }) => finding.units.length === 0 || finding.units.some((unit) => shown.has(unit)))
      .map(({ check, finding, words }) => ({
        cells: [
          checkTitle(check.code),
          finding.effect,
          `${words.says}${finding.decision ? ` Decided: ${finding.decision === 'half' ? 'by one of two people' : finding.decision}.` : ''}`,
          finding.units.filter((unit) => shown.has(unit)).join(', '),
          words.clearedBy,
        ],
        attention: true,
      })),
    empty: 'Nothing.',
  });
}

/** Name, role, meaning, time and what exactly was signed (21 CFR 11.50, 11.70). */
export function drawSignaturePage(pdf: RecordPage, view: RecordView): void {
  const signatures = signaturesOf(view);
  pdf.table({
    caption: 'Signed statements in the order of signing',
    columns: [
      { head: 'Signed by', width: 2.8 },
      { head: 'Meaning', width: 1.8 },
      { head: 'What', width: 3.1 },
      { head: 'Signed at', width: 2 },
      { head: 'Reason', width: 2 },
      { head: 'Independence', width: 2.4 },
      { head: 'Signed content', width: 2.5 },
    ],
    rows: signatures.map(({ statement, digest }) => ({
      cells: [
        signerText(statement),
        statement.meaning,
        subjectText(statement),
        signedAtText(statement),
        statement.reason ?? DECISION.noReason,
        independenceText(view, statement),
        [{ text: contentText(statement), style: 'mono' as const }],
      ],
      anchor: signatureAnchor(digest),
    })),
    empty: 'None: nobody has signed anything about this lot or what it rests on in this program.',
  });
  pdf.paragraph(
    'The signed content is named by the first 12 digits of its SHA-256: of the canonical JSON of a document, a certificate or a lot file, or the identity of a finding. One statement may cover several things of one kind and names each. Statements stand whole in dossier.json and enclosure.json, with the signature of the installation key over each.',
    { small: true },
  );
  pdf.paragraph(view.template.cautions.signatures, { small: true });
}
