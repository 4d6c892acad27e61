import { partsBy, partsInLot } from '../../assessment/parts-in-lot.js';
import type { Facts } from '../../dossier/facts.js';
import type { Statement } from '../../dossier/statement.js';
import { timeText } from '../../dossier/time-text.js';
import type { RecordPage } from '../../pdf/page.js';
import { checkAnchor, PARTS_ANCHOR, signatureAnchor } from '../../report/anchors.js';
import { basisWords, checkTitle, findingWords } from '../../report/assessment-words.js';
import { vouchedText } from '../../report/phrases/accounts.js';
import { effectText, meaningText } from '../../report/phrases/codes.js';
import { DECISION } from '../../report/phrases/decision.js';
import { turnedText } from '../../report/phrases/earlier-version.js';
import { independenceText, PARTS, partsText } from '../../report/phrases/parts-in-lot.js';
import { RELEASE } from '../../report/phrases/record-release.js';
import { gatesText, signedAsText } from '../../report/phrases/release-steps.js';
import { contentText, signedAtText, signerKeyText, subjectText } from '../../report/phrases/signatures.js';
import { eventActText } from '../../report/phrases/trail-acts.js';
import { retentionOf } from '../../report/retention.js';
import { independenceOf } from '../independence.js';
import { type RecordView, shownUnits, tellsOf } from '../record-view.js';
import { signaturesOf } from '../signatures.js';
import { personText } from './post-process.js';

const makerText = (maker: Facts['family']['body']['manufacturer']): string =>
  maker ? RELEASE.makerOf(maker.name, maker.address, maker.sites) : RELEASE.nobody;

/** As far as this record knows: later releases of the family and a legal hold lie outside it. */
function keptText({ facts, enclosure }: RecordView): string {
  const released = enclosure.signatures
    .filter(({ statement }) => statement.meaning === 'released')
    .map(({ statement }) => statement.at.slice(0, 10))
    .sort();
  const releasedOn = released.at(-1) ?? null;
  const { until, rule, rules } = retentionOf({
    family: facts.family.body,
    releasedOn,
    lastRecordedOn: facts.dossier.asOf.at.slice(0, 10),
    familyLastReleasedOn: releasedOn,
    revoked: enclosure.states.some(({ what }) => what === 'release-revoked'),
    legalHold: null,
  });
  return RELEASE.keptUntil(until!, rule, rules.find((one) => one.rule === rule)!.says);
}

/** What people decided on each implant, and each rule that a reviewer applies with what would clear what is open. */
export function drawRelease(pdf: RecordPage, view: RecordView): void {
  const { manufacturer, bodyCertificate } = view.facts.family.body;
  pdf.facts([
    [RELEASE.maker, makerText(manufacturer)],
    [RELEASE.kept, keptText(view)],
    [RELEASE.ensuresConformity, manufacturer?.responsiblePerson ?? RELEASE.nobody],
    [
      RELEASE.bodyCertificate,
      bodyCertificate
        ? RELEASE.bodyCertificateOf(
            bodyCertificate.number,
            bodyCertificate.body,
            bodyCertificate.scope,
            bodyCertificate.expiry,
          )
        : RELEASE.noBodyCertificate,
    ],
  ]);
  pdf.table({
    caption: RELEASE.gates,
    columns: [
      { head: RELEASE.implant, width: 2 },
      { head: RELEASE.gate, width: 10 },
    ],
    rows: shownUnits(view).map(({ serial, gates }) => [serial, gatesText(gates)]),
  });
  pdf.table({
    caption: RELEASE.states,
    columns: [
      { head: RELEASE.what, width: 2 },
      { head: RELEASE.implants, width: 3 },
      { head: RELEASE.at, width: 2.4 },
      { head: RELEASE.by, width: 2 },
      { head: RELEASE.reason, width: 4.4 },
    ],
    rows: view.enclosure.states.map(({ what, units, at, by, reason, step, turned }) => [
      step === undefined ? eventActText(what) : RELEASE.revokedFor(step),
      units.join(', ') || RELEASE.wholeLot,
      timeText(at),
      by,
      turned ? turnedText(turned) : reason,
    ]),
    empty: RELEASE.none,
  });
  drawChecks(pdf, view);
}

/** Clauses of the standard that nearly all checks serve go by their number alone. */
const clauseText = (clause: string): string => clause.replace(`${RELEASE.standard} `, '');

function drawChecks(pdf: RecordPage, view: RecordView): void {
  const { assessment } = view;
  const shown = new Set(shownUnits(view).map((unit) => unit.serial));
  pdf.heading(2, RELEASE.releaseChecks);
  pdf.table({
    caption: RELEASE.checks,
    columns: [
      { head: RELEASE.check, width: 4.4 },
      { head: RELEASE.serves, width: 2.4 },
      { head: RELEASE.outcome, width: 1.7 },
      { head: RELEASE.lookedAt, width: 5 },
    ],
    rows: assessment.checks.map((check) => ({
      cells: [
        checkTitle(check.code),
        clauseText(check.clause),
        check.outcome,
        basisWords(check) || RELEASE.lookedAtNothing,
      ],
      anchor: checkAnchor(check.code),
      attention: check.outcome === 'fails' || check.outcome === 'cannot be decided',
    })),
  });
  pdf.anchor('open tests');
  pdf.table({
    caption: RELEASE.openTests,
    columns: [
      { head: RELEASE.implant, width: 2 },
      { head: RELEASE.characteristic, width: 4 },
      { head: RELEASE.lateFrom, width: 3 },
    ],
    rows: shownUnits(view).flatMap((unit) =>
      unit.open.map((test) => [unit.serial, test.characteristic, timeText(test.until)]),
    ),
    empty: RELEASE.none,
  });
  const findings = assessment.checks.flatMap((check) =>
    check.findings.map((finding) => ({ check, finding, words: findingWords(check.code, finding) })),
  );
  pdf.table({
    caption: RELEASE.findings,
    columns: [
      { head: RELEASE.check, width: 2.4 },
      { head: RELEASE.effect, width: 1.6 },
      { head: RELEASE.what, width: 4.6 },
      { head: RELEASE.implants, width: 1.8 },
      { head: RELEASE.clearedBy, width: 4 },
    ],
    rows: findings
      .filter(({ finding }) => finding.units.length === 0 || finding.units.some((unit) => shown.has(unit)))
      .map(({ check, finding, words }) => ({
        cells: [
          checkTitle(check.code),
          effectText(finding.effect),
          `${words.says}${finding.decision ? RELEASE.decided(finding.decision === 'half' ? RELEASE.half : finding.decision) : ''}`,
          finding.units.filter((unit) => shown.has(unit)).join(', '),
          words.clearedBy,
        ],
        attention: true,
      })),
    empty: RELEASE.noFinding,
  });
}

/** Name, role, meaning, time and what exactly was signed (21 CFR 11.50, 11.70). */
export function drawSignaturePage(pdf: RecordPage, view: RecordView): void {
  const signatures = signaturesOf(view);
  const isOfLot = new Set(view.enclosure.signatures.map(({ digest }) => digest));
  const isTold = tellsOf(view);
  const what = (statement: Statement) => subjectText({ ...statement, units: statement.units.filter(isTold) });
  pdf.table({
    caption: RELEASE.ofLot,
    columns: [
      { head: RELEASE.signedBy, width: 2.8 },
      { head: RELEASE.meaning, width: 1.8 },
      { head: RELEASE.what, width: 3.1 },
      { head: RELEASE.signedAt, width: 2.2 },
      { head: RELEASE.reason, width: 2.4 },
      { head: RELEASE.independence, width: 2.8 },
      { head: RELEASE.signedContent, width: 2.1 },
    ],
    // The last word on the lot is the one that counts.
    rows: signatures
      .filter(({ digest }) => isOfLot.has(digest))
      .reverse()
      .map(({ statement, digest }) => ({
        cells: [
          signerKeyText(statement),
          signedAsText(statement),
          what(statement),
          signedAtText(statement),
          statement.reason ?? DECISION.noReason,
          independenceText(independenceOf(view, statement)),
          [{ text: contentText(statement), style: 'mono' as const }],
        ],
        anchor: signatureAnchor(digest),
      })),
    empty: RELEASE.nobodySigned,
  });
  pdf.table({
    caption: RELEASE.statements,
    columns: [
      { head: RELEASE.signedBy, width: 3.2 },
      { head: RELEASE.meaning, width: 1.8 },
      { head: RELEASE.what, width: 5.4 },
      { head: RELEASE.signedAt, width: 2.2 },
      { head: RELEASE.signedContent, width: 4.2 },
    ],
    rows: signatures
      .filter(({ digest }) => !isOfLot.has(digest))
      .map(({ statement, digest }) => ({
        cells: [
          signerKeyText(statement),
          meaningText(statement.meaning),
          statement.reason === null ? what(statement) : RELEASE.whatFor(what(statement), statement.reason),
          signedAtText(statement),
          [{ text: contentText(statement), style: 'mono' as const }],
        ],
        anchor: signatureAnchor(digest),
      })),
    empty: RELEASE.none,
  });
  pdf.paragraph(RELEASE.contentNote, { small: true });
  pdf.table({
    caption: RELEASE.keysOfPeople,
    columns: [
      { head: PARTS.person, width: 3 },
      { head: RELEASE.fingerprint, width: 7 },
      { head: RELEASE.keyMade, width: 2.4 },
      { head: RELEASE.vouchedBy, width: 4 },
    ],
    rows: view.enclosure.people.map((key) => [
      `${key.name} (${key.person})`,
      [{ text: key.fingerprint, style: 'mono' as const }],
      timeText(key.madeAt),
      vouchedText(key),
    ]),
    empty: RELEASE.none,
  });
  drawParts(pdf, view);
  pdf.paragraph(view.template.cautions.signatures, { small: true });
}

/** Everything that each person did for the lot: what a reader needs to judge independence by themselves. */
function drawParts(pdf: RecordPage, { facts }: RecordView): void {
  const signers = new Map(facts.signatures.map(({ statement: { person } }) => [person.code, person.name]));
  const nameOf = (code: string) => (signers.has(code) ? `${signers.get(code)} (${code})` : personText(facts, code));
  const people = [...new Set(partsInLot(facts).map(({ person }) => person))].sort();
  pdf.anchor(PARTS_ANCHOR);
  pdf.table({
    caption: PARTS.caption,
    columns: [
      { head: PARTS.person, width: 3 },
      { head: PARTS.parts, width: 13 },
    ],
    rows: people.map((code) => [nameOf(code), partsText(partsBy(facts, code))]),
  });
  pdf.paragraph(PARTS.note, { small: true });
}
