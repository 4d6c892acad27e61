import { type Standing, standingOf } from '../../assessment/signed.js';
import { type Facts, revisionKey } from '../../dossier/facts.js';
import { revisionSubject } from '../../dossier/signable.js';
import { timeText } from '../../dossier/time-text.js';
import { tradeUnit, unitText } from '../../dossier/unit-text.js';
import type { Window } from '../../kinds/recipe.js';
import type { RecordPage } from '../../pdf/page.js';
import type { RecordView } from '../record-view.js';
import { settingsText } from './post-process.js';

/** What was to be done, zone by zone: settings, and the windows that the log had to keep. */
export function drawRecipes(pdf: RecordPage, { facts }: RecordView): void {
  drawDifference(pdf, facts);
  for (const [key, { body, revision, digest }] of facts.recipes) {
    pdf.heading(2, `${body.title} (${key})`);
    pdf.facts([
      ['Group', body.group],
      ['Machine', body.machine],
      ['Effective from', timeText(body.effectiveFrom)],
      [
        'Approval',
        standingText(
          standingOf(facts, revisionSubject({ kind: 'recipe', key: body.recipe, revision, digest }), body.approval),
        ),
      ],
    ]);
    pdf.table({
      caption: `Settings of ${key}, by zone and step`,
      columns: [
        { head: 'Zone', width: 3 },
        { head: 'Class', width: 1.8 },
        { head: 'Layers', width: 1.5 },
        { head: 'Step', width: 1.4 },
        { head: 'Every', unit: 'layers', width: 1, align: 'right' },
        { head: 'Settings', width: 6 },
      ],
      rows: body.zones.flatMap((zone) =>
        zone.steps.map((step) => [
          `${zone.zone}: ${zone.title}`,
          zone.class,
          `${zone.layers.from} to ${zone.layers.to}`,
          step.step,
          String(step.everyLayers),
          settingsText(step),
        ]),
      ),
    });
    const windows = [
      ...body.chamber.windows.map((window) => ({ where: 'chamber, every step', window })),
      ...body.zones.flatMap((zone) =>
        zone.steps.flatMap((step) => step.windows.map((window) => ({ where: `${zone.zone}, ${step.step}`, window }))),
      ),
    ];
    pdf.table({
      caption: `Windows of ${key}: alert is noted, action needs a decision, reject fails what it covers`,
      columns: [
        { head: 'Where', width: 2.6 },
        { head: 'Channel', width: 2.4 },
        { head: 'Unit', width: 2.2 },
        { head: 'Alert', width: 2 },
        { head: 'Action', width: 2 },
        { head: 'Reject', width: 2 },
        { head: 'Counts from', width: 2.2 },
      ],
      rows: windows.map(({ where, window }) => [
        where,
        window.channel,
        unitText(window.ucum),
        levelText(window, 'alert'),
        levelText(window, 'action'),
        levelText(window, 'reject'),
        countsFrom(window),
      ]),
    });
  }
}

/** How an approval stands, in words. */
function standingText(standing: Standing): string {
  if (standing.how === 'none') return 'none';
  const how = standing.how === 'claimed' ? 'claimed, not signed' : standing.how;
  return `${standing.by} at ${timeText(standing.at)}: ${how}`;
}

/** The lot file tells by which revision the builds before were made, but not what it said. */
function drawDifference(pdf: RecordPage, facts: Facts): void {
  const before = facts.history
    .filter((row) => row.lot !== facts.lot.body.lot)
    .sort((a, b) => Date.parse(a.builtAt) - Date.parse(b.builtAt))
    .at(-1);
  const said = before
    ? `The build before these in the family was ${before.build} of lot ${before.lot}, made by ${revisionKey(before.recipe, Number(before.recipeRevision))}. ${
        facts.recipes.has(revisionKey(before.recipe, Number(before.recipeRevision)))
          ? 'It is the same recipe in the same revision: no setting differs.'
          : 'It is another recipe or revision than below; which settings differ is not recorded by this version.'
      }`
    : 'No earlier build of the family is in the lot file, so there is nothing to compare the recipe with.';
  pdf.paragraph(said);
}

function levelText({ above, below }: Window, level: 'alert' | 'action' | 'reject'): string {
  const parts = [
    below?.[level] === undefined ? '' : `below ${below[level]}`,
    above?.[level] === undefined ? '' : `above ${above[level]}`,
  ].filter(Boolean);
  return parts.join(', ') || 'none';
}

function countsFrom({ minimumDurationS, integralLimit, ucum }: Window): string {
  const parts = [
    minimumDurationS === undefined ? '' : `${minimumDurationS} s`,
    integralLimit === undefined ? '' : `${integralLimit} ${tradeUnit(ucum)} × s`,
  ].filter(Boolean);
  return parts.join(' or ') || 'the first row';
}
