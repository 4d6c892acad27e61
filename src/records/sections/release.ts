import type { CheckFinding, CheckResult } from '../../assessment/assessment.js';
import { concessionsOf } from '../../assessment/nonconformities.js';
import type { Facts } from '../../dossier/facts.js';
import { timeText } from '../../dossier/time-text.js';
import type { RecordPage } from '../../pdf/page.js';
import { checkAnchor } from '../../report/anchors.js';
import { basisWords, checkTitle, findingWords } from '../../report/assessment-words.js';
import { effectText } from '../../report/phrases/codes.js';
import { turnedText } from '../../report/phrases/earlier-version.js';
import { RELEASE } from '../../report/phrases/record-release.js';
import { gatesText } from '../../report/phrases/release-steps.js';
import { eventActText } from '../../report/phrases/trail-acts.js';
import { retentionOf } from '../../report/retention.js';
import { type RecordView, shownUnits } from '../record-view.js';

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

/** Each rule that a reviewer applies, with what would clear what is open. */
export function drawRelease(pdf: RecordPage, view: RecordView): void {
  drawChecks(pdf, view);
  drawStates(pdf, view);
}

/** What lies over decisions, what was held on the day of a release, and what was refused. */
function drawStates(pdf: RecordPage, view: RecordView): void {
  pdf.table({
    caption: RELEASE.states,
    columns: [
      { head: RELEASE.what, width: 2.6 },
      { head: RELEASE.implants, width: 2 },
      { head: RELEASE.at, width: 2.2 },
      { head: RELEASE.by, width: 1.1 },
      { head: RELEASE.reason, width: 7 },
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
}

/** Who answers for the lot and until when it is kept, and how far each implant came on its route. */
export function drawStanding(pdf: RecordPage, view: RecordView): void {
  const { manufacturer, bodyCertificate } = view.facts.family.body;
  pdf.facts(
    [
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
    ],
    { small: true },
  );
  pdf.table({
    caption: RELEASE.gates,
    columns: [
      { head: RELEASE.implants, width: 3 },
      { head: RELEASE.gate, width: 9 },
    ],
    rows: alike(
      shownUnits(view).map(({ serial, gates }) => [serial, gatesText(gates)] as const),
      ([, says]) => says,
    ).map(([says, own]) => [own.map(([serial]) => serial).join(', '), says]),
  });
}

/** Clauses of the standard that nearly all checks serve go by their number alone; what is cited often is short. */
const clauseText = (clause: string): string =>
  RELEASE.shortened.reduce((text, [long, brief]) => text.replace(long, brief), clause);

const applies = ({ outcome }: CheckResult): boolean => outcome !== 'does not apply';

/** Things that are told of in the same words, under these. */
function alike<T>(things: readonly T[], wordsOf: (thing: T) => string): [string, T[]][] {
  const found = new Map<string, T[]>();
  for (const thing of things) found.set(wordsOf(thing), [...(found.get(wordsOf(thing)) ?? []), thing]);
  return [...found];
}

/** What does not apply to this lot, by the reason: many checks share one. */
function drawNotAsked(pdf: RecordPage, checks: readonly CheckResult[]): void {
  const byReason = alike(
    checks.filter((one) => !applies(one)),
    (check) => basisWords(check) || RELEASE.lookedAtNothing,
  );
  if (byReason.length === 0) return;
  for (const check of checks.filter((one) => !applies(one))) pdf.anchor(checkAnchor(check.code));
  pdf.table({
    caption: RELEASE.notAsked,
    columns: [
      { head: RELEASE.check, width: 7 },
      { head: RELEASE.why, width: 8 },
    ],
    rows: byReason.map(([reason, own]) => [own.map(({ code }) => checkTitle(code)).join('; '), reason]),
  });
}

function drawChecks(pdf: RecordPage, view: RecordView): void {
  const { assessment } = view;
  const shown = new Set(shownUnits(view).map((unit) => unit.serial));
  pdf.table({
    caption: RELEASE.checks,
    columns: [
      { head: RELEASE.check, width: 5.2 },
      { head: RELEASE.serves, width: 3.8 },
      { head: RELEASE.outcome, width: 1.4 },
      { head: RELEASE.lookedAt, width: 5 },
    ],
    rows: assessment.checks.filter(applies).map((check) => ({
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
  pdf.paragraph(RELEASE.clauses, { small: true });
  drawNotAsked(pdf, assessment.checks);
  pdf.anchor('open tests');
  pdf.table({
    caption: RELEASE.openTests,
    columns: [
      { head: RELEASE.implants, width: 4 },
      { head: RELEASE.characteristic, width: 3 },
      { head: RELEASE.lateFrom, width: 3 },
    ],
    rows: alike(
      shownUnits(view).flatMap(({ serial, open }) => open.map((test) => ({ serial, test }))),
      ({ test }) => `${test.characteristic} ${test.until}`,
    ).map(([, own]) => {
      const { characteristic, until } = own[0]!.test;
      return [own.map(({ serial }) => serial).join(', '), characteristic, timeText(until)];
    }),
    empty: RELEASE.none,
  });
  const concessions = concessionsOf(view.facts);
  const unitsShown = ({ units }: CheckFinding) => units.filter((unit) => shown.has(unit));
  const findings = assessment.checks.flatMap((check) =>
    check.findings.map((finding) => ({ check, finding, words: findingWords(check.code, finding) })),
  );
  pdf.table({
    caption: RELEASE.findings,
    columns: [
      { head: RELEASE.check, width: 2.8 },
      { head: RELEASE.effect, width: 1.8 },
      { head: RELEASE.what, width: 5 },
      { head: RELEASE.implants, width: 1.8 },
      { head: RELEASE.clearedBy, width: 4.6 },
    ],
    rows: findings
      .filter(({ finding }) => finding.units.length === 0 || unitsShown(finding).length > 0)
      .map(({ check, finding, words }) => ({
        cells: [
          checkTitle(check.code),
          effectText(finding.effect),
          `${words.says}${finding.decision ? RELEASE.decided(finding.decision === 'half' ? RELEASE.half : finding.decision) : ''}`,
          unitsShown(finding).join(', '),
          clearedText(finding, words.clearedBy),
        ],
        attention: true,
      })),
    empty: RELEASE.noFinding,
  });

  /** Nobody is asked for what was signed already. */
  function clearedText({ id, mayBeDecided, decision, units }: CheckFinding, clearedBy: string): string {
    if (mayBeDecided === 'decision' && decision === 'accepted') return RELEASE.nothingMore;
    const letGo =
      mayBeDecided === 'concession' ? [...(concessions.get(id) ?? [])].filter(([unit]) => shown.has(unit)) : [];
    if (letGo.length === 0) return clearedBy;
    const says = alike(letGo, ([, nonconformity]) => nonconformity)
      .map(([nonconformity, own]) =>
        RELEASE.letGo(
          nonconformity,
          own.map(([unit]) => unit),
        ),
      )
      .join(' ');
    return units.every((unit) => !shown.has(unit) || concessions.get(id)!.has(unit)) ? says : `${says} ${clearedBy}`;
  }
}
