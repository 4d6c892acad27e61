import { timeText } from '../../dossier/time-text.js';
import type { Window } from '../../kinds/recipe.js';
import type { RecordPage } from '../pdf/page.js';
import { type RecordView } from '../record-view.js';

/** What was to be done, zone by zone: settings, and the windows that the log had to keep. */
export function drawRecipes(pdf: RecordPage, { facts }: RecordView): void {
  for (const [key, { body }] of facts.recipes) {
    pdf.heading(2, `${body.title} (${key})`);
    pdf.facts([
      ['Group', body.group],
      ['Machine', body.machine],
      ['Effective from', timeText(body.effectiveFrom)],
      [
        'Approval',
        body.approval ? `${body.approval.by} at ${timeText(body.approval.at)}: claimed, not signed` : 'none',
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
          step.parameters.map((item) => `${item.parameter} ${item.set} ${item.ucum}`).join('; '),
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
        { head: 'Where', width: 3 },
        { head: 'Channel', width: 2.4 },
        { head: 'Unit', width: 1.2 },
        { head: 'Alert', width: 2 },
        { head: 'Action', width: 2 },
        { head: 'Reject', width: 2 },
        { head: 'Counts from', width: 2.2 },
      ],
      rows: windows.map(({ where, window }) => [
        where,
        window.channel,
        window.ucum,
        levelText(window, 'alert'),
        levelText(window, 'action'),
        levelText(window, 'reject'),
        countsFrom(window),
      ]),
    });
  }
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
    integralLimit === undefined ? '' : `${integralLimit} ${ucum} × s`,
  ].filter(Boolean);
  return parts.join(' or ') || 'the first row';
}
