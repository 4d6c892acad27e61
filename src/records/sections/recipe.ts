import { recipeUses } from '../../assessment/recipe-uses.js';
import { type Standing, standingOf } from '../../assessment/signed.js';
import { type Facts, revisionKey } from '../../dossier/facts.js';
import { revisionSubject } from '../../dossier/signable.js';
import { timeText } from '../../dossier/time-text.js';
import { spacedUnit, tradeUnit } from '../../dossier/unit-text.js';
import type { Recipe, Window } from '../../kinds/recipe.js';
import type { RecordPage } from '../../pdf/page.js';
import { standingHowText } from '../../report/phrases/codes.js';
import { loggedCells } from '../../report/phrases/logged-settings.js';
import { RECIPE } from '../../report/phrases/record-recipe.js';
import { SETTING_CHANGES } from '../../report/phrases/setting-changes.js';
import { stepText } from '../../report/phrases/trade-codes.js';
import { settingsBefore } from '../../report/setting-changes.js';
import { type SettingRow, settingRows } from '../../report/setting-rows.js';
import type { RecordView } from '../record-view.js';

/** What was to be done, zone by zone: settings, and the windows that the log had to keep. */
export function drawRecipes(pdf: RecordPage, { facts }: RecordView): void {
  drawDifference(pdf, facts);
  const settings = settingRows(facts);
  for (const [key, { body, revision, digest }] of facts.recipes) {
    pdf.heading(2, `${body.title} (${key})`);
    const approval = revisionSubject({ kind: 'recipe', key: body.recipe, revision, digest });
    pdf.facts(
      [
        [RECIPE.groupAndMachine, `${body.group}; ${body.machine}`],
        [RECIPE.effectiveFrom, timeText(body.effectiveFrom)],
        [RECIPE.approval, standingText(standingOf(facts, approval, body.approval))],
        ...programsOf(facts, key, body),
      ],
      { small: true },
    );
    drawSettings(pdf, key, body, settings);
    const windows = [
      ...body.chamber.windows.map((window) => ({ where: RECIPE.chamber, window })),
      ...body.zones.flatMap((zone) =>
        zone.steps.flatMap((step) =>
          step.windows.map((window) => ({ where: `${zone.zone}, ${stepText(step.step)}`, window })),
        ),
      ),
    ];
    pdf.table({
      caption: RECIPE.windows(key),
      columns: [
        { head: RECIPE.where, width: 2.6 },
        { head: RECIPE.channel, width: 2 },
        { head: RECIPE.unit, width: 1 },
        { head: RECIPE.alert, width: 2.9 },
        { head: RECIPE.action, width: 2.9 },
        { head: RECIPE.reject, width: 2.9 },
        { head: RECIPE.countsFrom, width: 1.9 },
      ],
      rows: windows.map(({ where, window }) => [
        where,
        window.channel,
        tradeUnit(window.ucum),
        levelText(window, 'alert'),
        levelText(window, 'action'),
        levelText(window, 'reject'),
        countsFrom(window),
      ]),
    });
  }
}

/** Each setting of each step of each zone, set against logged, build by build where they differ. */
function drawSettings(pdf: RecordPage, key: string, recipe: Recipe, settings: readonly SettingRow[]): void {
  const rows = recipe.zones.flatMap((zone) =>
    zone.steps.flatMap(({ step, everyLayers, parameters }) =>
      parameters.flatMap((parameter) => {
        const set = [
          RECIPE.stepOf(stepText(step), everyLayers),
          parameter.parameter,
          `${parameter.set}${spacedUnit(parameter.ucum)}`,
        ];
        const own = settings.filter(
          (row) =>
            row.recipe === key &&
            row.recipeZone === zone.zone &&
            row.step === step &&
            row.parameter.parameter === parameter.parameter,
        );
        if (own.length === 0) return [{ cells: [zone.zone, ...set, '', '', '', RECIPE.inNoPart] }];
        return own.map((row) => ({
          cells: [RECIPE.builtOf(zone.zone, row.build, row.zones), ...set, ...loggedCells(row)],
          attention: row.asks,
        }));
      }),
    ),
  );
  const zones = recipe.zones.map(({ zone, title, class: zoneClass, layers }) =>
    RECIPE.zoneOf(zone, title, zoneClass, layers.from, layers.to),
  );
  pdf.paragraph(RECIPE.zones(zones), { small: true });
  pdf.table({
    caption: RECIPE.settingsOf(key),
    columns: [
      { head: RECIPE.zone, width: 2.9 },
      { head: RECIPE.step, width: 2.2 },
      { head: RECIPE.setting, width: 2.1 },
      { head: RECIPE.set, width: 1.6 },
      { head: RECIPE.means, width: 2 },
      { head: RECIPE.allowed, width: 1.7 },
      { head: RECIPE.actual, width: 1.9 },
      { head: RECIPE.followed, width: 4.4 },
    ],
    rows,
  });
}

/** The programs that a recipe names, and in which version each ran in which build. */
function programsOf(facts: Facts, key: string, { software = [] }: Recipe): [string, string][] {
  if (software.length === 0) return [];
  const builds = recipeUses(facts).flatMap((use) => (use.key === key ? [use.build] : []));
  const said = software.map(({ software: code, revision }) => {
    const ran = builds.flatMap(({ build, software: shown = [] }) =>
      shown.flatMap((one) => (one.software === code ? [RECIPE.ran(one.version, build)] : [])),
    );
    return [revisionKey(code, revision), ...ran].join(', ');
  });
  return [[RECIPE.programs, said.join('; ')]];
}

/** How an approval stands, in words. */
function standingText(standing: Standing): string {
  if (standing.how === 'none') return RECIPE.none;
  return RECIPE.standing(standing.by, timeText(standing.at), standingHowText(standing.how));
}

/** What is set otherwise than in the build before. */
function drawDifference(pdf: RecordPage, facts: Facts): void {
  const { says, changes } = settingsBefore(facts);
  pdf.paragraph(says);
  if (changes.length === 0) return;
  const { caption, heads } = SETTING_CHANGES;
  pdf.table({
    caption,
    columns: [
      { head: heads.recipe, width: 2 },
      { head: heads.zone, width: 1.6 },
      { head: heads.step, width: 1.6 },
      { head: heads.setting, width: 2.6 },
      { head: heads.before, width: 2 },
      { head: heads.now, width: 2 },
    ],
    rows: changes.map(({ recipe, zone, step, setting, before, now }) => [recipe, zone, step, setting, before, now]),
  });
}

function levelText({ above, below }: Window, level: 'alert' | 'action' | 'reject'): string {
  const parts = [
    below?.[level] === undefined ? '' : RECIPE.below(below[level]),
    above?.[level] === undefined ? '' : RECIPE.above(above[level]),
  ].filter(Boolean);
  return parts.join(', ') || RECIPE.none;
}

function countsFrom({ minimumDurationS, integralLimit, ucum }: Window): string {
  const parts = [
    minimumDurationS === undefined ? '' : `${minimumDurationS} s`,
    integralLimit === undefined ? '' : `${integralLimit}${spacedUnit(ucum)} × s`,
  ].filter(Boolean);
  return parts.join(' or ') || RECIPE.firstRow;
}
