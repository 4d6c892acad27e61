import { builtDesigns, type OfCase } from '../../assessment/built-designs.js';
import { type Standing, signedOn, standingOf } from '../../assessment/signed.js';
import { humanReadable } from '../../base/element-strings/element-string.js';
import { AppError } from '../../base/errors.js';
import type { Facts } from '../../dossier/facts.js';
import { baselineOfLot } from '../../dossier/lot-baseline.js';
import { revisionSubject } from '../../dossier/signable.js';
import { timeText } from '../../dossier/time-text.js';
import { closuresOf, firstClosedAt } from '../../kinds/build-chain.js';
import type { DesignAcceptance } from '../../kinds/cases/design-acceptance.js';
import type { Implant } from '../../kinds/lot.js';
import type { RecordPage } from '../../pdf/page.js';
import { short } from '../../report/anchors.js';
import { claimWords } from '../../report/assessment-words.js';
import { ABSENT } from '../../report/phrases/absent.js';
import { standingHowText } from '../../report/phrases/codes.js';
import { kindText } from '../../report/phrases/kinds.js';
import { LOT_BASELINE } from '../../report/phrases/lot-baseline.js';
import { IDENTITY } from '../../report/phrases/record-identity.js';
import { routeText, sideText } from '../../report/phrases/trade-codes.js';
import { codeOf } from '../papers/unit-code.js';
import { type RecordView, shownUnits } from '../record-view.js';

/** Implants with their cases, codes and prescriptions. */
export function drawIdentity(pdf: RecordPage, view: RecordView): void {
  const { facts } = view;
  const { lot } = facts;
  const shown = new Set(shownUnits(view).map(({ serial }) => serial));
  pdf.table({
    caption: IDENTITY.implants,
    columns: [
      IDENTITY.serial,
      IDENTITY.case,
      IDENTITY.site,
      IDENTITY.side,
      IDENTITY.iteration,
      IDENTITY.neededBy,
      IDENTITY.prescriber,
      IDENTITY.buildPlace,
    ].map((head) => ({
      head,
    })),
    rows: lot.body.implants
      .filter(({ serial }) => shown.has(serial))
      .map((implant) => {
        const found = facts.cases.get(implant.case)?.body;
        return [
          implant.serial,
          implant.case,
          found?.anatomicalSite ?? IDENTITY.withheld,
          found ? sideText(found.side) : IDENTITY.withheld,
          IDENTITY.iterationOf(implant.designIteration, found ? IDENTITY.askedFor(found.designIteration) : ''),
          found ? IDENTITY.wanted(found.neededBy, found.surgeryOn) : IDENTITY.withheld,
          found ? `${found.prescriber.name}, ${found.prescriber.institution}` : IDENTITY.withheld,
          [
            ...closuresOf(implant),
            ...[implant.position, implant.orientation].filter((part) => part !== undefined),
          ].join(', '),
        ];
      }),
  });
  pdf.table({
    caption: IDENTITY.codes,
    columns: [
      { head: IDENTITY.serial, width: 1.4 },
      { head: IDENTITY.codeOfTheUnit, width: 4 },
      { head: IDENTITY.prescription, width: 2.8 },
      { head: IDENTITY.prescribedCharacteristics, width: 4.6 },
    ],
    rows: lot.body.implants
      .filter(({ serial }) => shown.has(serial))
      .map((implant) => {
        const found = facts.cases.get(implant.case)?.body;
        return [
          implant.serial,
          codeText(facts, implant),
          found ? `${found.prescription.reference}, ${timeText(found.prescription.at)}` : IDENTITY.withheld,
          found
            ? IDENTITY.prescribed(found.prescribedCharacteristics ?? IDENTITY.noneStated, found.otherMetals)
            : IDENTITY.withheld,
        ];
      }),
  });
  drawDesigns(pdf, facts, shown);
  pdf.paragraph(IDENTITY.couponsAt, { small: true });
}

/** The law of each implant, and the design from which it was built, with its envelope, its images and its acceptance. */
function drawDesigns(pdf: RecordPage, facts: Facts, shown: ReadonlySet<string>): void {
  const name = (code: string) => `${facts.people.get(code)?.body.name ?? code} (${code})`;
  pdf.table({
    caption: IDENTITY.designs,
    columns: [
      { head: IDENTITY.serial, width: 1.2 },
      { head: IDENTITY.usedUnder, width: 1.9 },
      { head: IDENTITY.design, width: 3.3 },
      { head: IDENTITY.imagesOf, width: 2.5 },
      { head: IDENTITY.accepted, width: 5 },
    ],
    rows: builtDesigns(facts).flatMap(({ implants, case: found, laws, design, envelope, imagingSets, acceptance }) =>
      implants
        .filter(({ serial }) => shown.has(serial))
        .map(({ serial }) => [
          serial,
          laws.map(({ law, route }) => IDENTITY.lawOf(law, routeText(route))).join('; ') || IDENTITY.noLaw,
          design === undefined
            ? ABSENT.noneStated
            : [
                IDENTITY.designOf(design.revision, design.body.marking),
                envelope
                  ? IDENTITY.envelopeOf(envelope.body.envelope, envelope.body.revision)
                  : IDENTITY.outside(design.body.outside?.why ?? ABSENT.noneStated),
              ].join('; '),
          imagingSets.map(({ key, body }) => IDENTITY.imagesFrom(key, body.modality, body.takenOn)).join('; ') ||
            found.imagingDate ||
            IDENTITY.noDateStated,
          acceptance === undefined
            ? ABSENT.noneStated
            : IDENTITY.acceptedBy(
                acceptance.body.by.name,
                timeText(acceptance.body.at),
                checkedBy(facts, acceptance, name),
              ),
        ]),
    ),
    empty: ABSENT.noneSentence,
  });
}

function checkedBy(facts: Facts, acceptance: OfCase<DesignAcceptance>, name: (code: string) => string): string {
  const [signed] = signedOn(facts, revisionSubject(acceptance), 'checked');
  return signed ? IDENTITY.checkedBy(name(signed.person.code)) : IDENTITY.notChecked;
}

function codeText(facts: Facts, implant: Implant): string {
  try {
    const code = codeOf(facts, implant);
    return typeof code === 'string' ? IDENTITY.serialOnly(code) : IDENTITY.udi(humanReadable(code));
  } catch (error) {
    if (error instanceof AppError) return IDENTITY.noUdi(error.message);
    throw error;
  }
}

function byKind(pinned: Facts['pinned']): Map<string, Facts['pinned'][number][]> {
  const kinds = new Map<string, Facts['pinned'][number][]>();
  for (const item of pinned) kinds.set(item.kind, [...(kinds.get(item.kind) ?? []), item]);
  return kinds;
}

/** What is done against hazards by a characteristic of the lot: its results show that it was done. */
function drawRiskControls(pdf: RecordPage, facts: Facts): void {
  const controls = [...facts.riskControls.values()];
  if (controls.length === 0) {
    pdf.paragraph(IDENTITY.noRiskControls, { small: true });
    return;
  }
  const titles = new Map(
    facts.specification.body.characteristics.map(({ characteristic, title }) => [characteristic, title]),
  );
  pdf.table({
    caption: IDENTITY.riskControls,
    columns: [
      { head: IDENTITY.control, width: 2.4 },
      { head: IDENTITY.what, width: 5 },
      { head: IDENTITY.carriedBy, width: 3 },
      { head: IDENTITY.against, width: 2.6 },
      { head: IDENTITY.approved, width: 2.6 },
    ],
    rows: controls.map(({ digest, body }) => [
      IDENTITY.revisionOf(body.control, body.revision),
      `${body.title}: ${body.text}`,
      titles.get(body.characteristic!) ?? body.characteristic!,
      body.controls.map(({ hazard, revision }) => IDENTITY.revisionOf(hazard, revision)).join(', '),
      standingText(
        standingOf(
          facts,
          revisionSubject({ kind: 'risk-control', key: body.control, revision: body.revision, digest }),
          body.approval,
        ),
      ),
    ]),
  });
}

const standingText = (standing: Standing): string =>
  standing.how === 'none' ? ABSENT.nobody : `${standing.by}, ${standingHowText(standing.how)}`;

/** The documents that the lot rests on, each pinned to its revision, and what files claim of them. */
export function drawDocuments(pdf: RecordPage, { facts, assessment }: RecordView): void {
  const isBuilt = firstClosedAt(facts.lot.body) !== undefined;
  pdf.paragraph(LOT_BASELINE.says(facts.family.body.family, isBuilt, baselineOfLot(facts)));
  drawRiskControls(pdf, facts);
  pdf.table({
    caption: IDENTITY.entries,
    columns: [
      { head: IDENTITY.kind, width: 2 },
      { head: IDENTITY.entriesOf, width: 11 },
    ],
    rows: [...byKind(facts.pinned)].map(([kind, items]) => [
      kindText(kind),
      items.flatMap((item, index) => [
        `${index === 0 ? '' : '; '}${IDENTITY.entryOf(item.key, item.revision, item.recordedAt.slice(0, 10))} `,
        { text: short(item.digest), style: 'mono' as const },
      ]),
    ]),
  });
  const all = assessment.checks.flatMap((check) => check.claims);
  const claims = all.filter(({ how }) => how !== 'signed');
  pdf.paragraph(IDENTITY.signedClaims(all.length - claims.length), { small: true });
  pdf.table({
    caption: IDENTITY.claims,
    columns: [
      { head: IDENTITY.what, width: 5 },
      { head: IDENTITY.standing, width: 2 },
      { head: IDENTITY.by, width: 3 },
      { head: IDENTITY.at, width: 3 },
    ],
    rows: claims.map((claim) => [
      claimWords(claim),
      standingHowText(claim.how),
      `${facts.people.get(claim.by)?.body.name ?? claim.by} (${claim.by})`,
      timeText(claim.at),
    ]),
    empty: IDENTITY.noClaims,
  });
}
