import { z } from 'zod';
import {
  Approval,
  Code,
  Decimal,
  Format,
  Layers,
  Moment,
  PositiveDecimal,
  RecipeStep,
  SoftwareRef,
  Text,
  Ucum,
  whole,
} from './fields.js';
import { type Contradiction, defineKind, originalOf, repeated, tie } from './kind.js';

const Levels = z
  .strictObject({ alert: Decimal.optional(), action: Decimal.optional(), reject: Decimal.optional() })
  .refine((levels) => Object.values(levels).some((value) => value !== undefined), {
    error: 'at least one of alert, action, reject',
  });

/** The band a logged channel must stay in, and what leaving it means. */
export const Window = z.strictObject({
  channel: Code.describe('name of the logged channel'),
  ucum: Ucum,
  above: Levels.optional().describe('levels that must not be exceeded'),
  below: Levels.optional().describe('levels that must not be undercut'),
  minimumDurationS: PositiveDecimal.optional().describe('shorter excursions do not count (seconds)'),
  integralLimit: PositiveDecimal.optional().describe('area beyond the level (unit × s) from which an excursion counts'),
});
export type Window = z.infer<typeof Window>;

/** A window of one step, over all layers of the zone or some of them. */
export const StepWindow = z.strictObject({
  ...Window.shape,
  layers: Layers.optional().describe(
    'layers at which it holds, counted as the recipe counts; all of the zone if absent',
  ),
});
export type StepWindow = z.infer<typeof StepWindow>;

export const Parameter = z.strictObject({
  parameter: Text.describe('setting of the machine, as the trade names it'),
  set: Decimal,
  ucum: Ucum,
  channel: Code.optional().describe('logged channel that repeats this setting: it must show exactly this value'),
  actual: Code.optional().describe(
    'logged channel that measures what the setting brings about; when absent, the one that bears the name of the setting, with underscores for blanks',
  ),
  within: PositiveDecimal.optional().describe(
    'how far the mean of that channel over the step may lie from the set value, in each zone (unit of the setting); when absent, the window of the step on that channel says it',
  ),
  unlogged: Text.optional().describe('where no log shows the setting: what shows instead that it was in force'),
});
export type Parameter = z.infer<typeof Parameter>;

const StepDuration = z
  .strictObject({ atLeast: PositiveDecimal.optional(), atMost: PositiveDecimal.optional() })
  .describe('how long the step takes at one layer of the zone (seconds): a step done twice takes longer');

export const Step = z.strictObject({
  step: RecipeStep,
  everyLayers: whole(1, 10_000).describe('the step is done every so many layers'),
  durationS: StepDuration.optional(),
  parameters: z.array(Parameter).min(1),
  windows: z.array(StepWindow).default([]),
});

export const Zone = z.strictObject({
  zone: Code.describe('named region of the part'),
  title: Text,
  class: Code.describe('zone class: zones of one class may be pooled and stand for each other'),
  layers: Layers,
  steps: z.array(Step).min(1).describe('in the order in which they are done at a layer'),
});

export const Recipe = z.strictObject({
  kind: z.literal('recipe'),
  format: Format,
  recipe: Code,
  revision: whole(1),
  title: Text,
  group: Code.describe('recipe group: revisions of one group may be pooled by a pooling rule'),
  family: Code,
  machine: Code.describe('machine for which the recipe was written'),
  software: z
    .array(SoftwareRef)
    .min(1)
    .optional()
    .describe('programs that make the paths and run the machine, in the versions for which it was validated'),
  effectiveFrom: Moment,
  approval: Approval.optional(),
  chamber: z
    .strictObject({
      windows: z.array(Window).min(1),
      inertChannels: z.array(Code).min(1).describe('channels of which any excursion breaks the inert atmosphere'),
      joinBreaksWithinS: PositiveDecimal.describe('breaks closer than this are one break (seconds)'),
    })
    .describe('holds over every step, from closing to opening the chamber'),
  zones: z.array(Zone).min(1),
});
export type Recipe = z.infer<typeof Recipe>;

/** Levels must grow more severe away from the band: alert, then action, then reject. */
export function levelFaults(window: Window, field: string): Contradiction[] {
  const found: Contradiction[] = [];
  for (const side of ['above', 'below'] as const) {
    const levels = window[side];
    if (!levels) continue;
    const given = [levels.alert, levels.action, levels.reject].filter((value) => value !== undefined).map(Number);
    const outward = given.every(
      (value, index) => index === 0 || (side === 'above' ? value >= given[index - 1]! : value <= given[index - 1]!),
    );
    if (!outward) {
      found.push({
        field: `${field}.${side}`,
        found: given.join(', '),
        expected: `alert, action, reject ${side === 'above' ? 'rising' : 'falling'}`,
        remedy: 'put the levels in order: the most severe farthest from the band',
      });
    }
  }
  if (!window.above && !window.below) {
    found.push({
      field,
      found: 'no level',
      expected: 'levels above, below, or both',
      remedy: 'state at least one level or remove the window',
    });
  }
  return found;
}

function stepContradictions(step: z.infer<typeof Step>, zone: z.infer<typeof Zone>, field: string): Contradiction[] {
  const { atLeast, atMost } = step.durationS ?? {};
  const isReversed = atLeast !== undefined && atMost !== undefined && Number(atLeast) > Number(atMost);
  const found: Contradiction[] = isReversed
    ? [
        {
          field: `${field}.durationS`,
          found: `at least ${atLeast}, at most ${atMost}`,
          expected: 'a shortest time that is not above the longest',
          remedy: 'swap or correct the two',
        },
      ]
    : [];
  step.windows.forEach(({ layers }, index) => {
    if (layers === undefined) return;
    if (layers.from <= layers.to && layers.from >= zone.layers.from && layers.to <= zone.layers.to) return;
    found.push({
      field: `${field}.windows[${index}].layers`,
      found: `${layers.from} to ${layers.to}`,
      expected: `layers of the zone, ${zone.layers.from} to ${zone.layers.to}, the first not behind the last`,
      remedy: 'correct the layers of the window, or leave them out when it holds at all layers',
    });
  });
  step.parameters.forEach(({ unlogged, channel, actual, within }, index) => {
    if (unlogged === undefined || [channel, actual, within].every((said) => said === undefined)) return;
    found.push({
      field: `${field}.parameters[${index}].unlogged`,
      found: unlogged,
      expected: 'nothing of a log beside it: no channel, actual or within',
      remedy: 'keep the one that is true: what the log shows, or what shows the setting instead',
    });
  });
  const logged = step.parameters.flatMap(({ channel }) => (channel === undefined ? [] : [channel]));
  return [...found, ...repeated(logged, () => `${field}.parameters`, 'channel of a setting')];
}

function contradictions(document: Recipe): Contradiction[] {
  const names = document.zones.map((zone) => zone.zone);
  const windows = [
    ...document.chamber.windows.map((window, index) => ({ window, field: `chamber.windows[${index}]` })),
    ...document.zones.flatMap((zone, z) =>
      zone.steps.flatMap((step, s) =>
        step.windows.map((window, w) => ({ window, field: `zones[${z}].steps[${s}].windows[${w}]` })),
      ),
    ),
  ];
  const chamberChannels = new Set(document.chamber.windows.map((window) => window.channel));
  return [
    ...repeated(
      (document.software ?? []).map(({ software }) => software),
      (index) => `software[${index}].software`,
      'program',
    ),
    ...repeated(names, (index) => `zones[${index}].zone`, 'zone'),
    ...windows.flatMap(({ window, field }) => levelFaults(window, field)),
    ...document.zones.flatMap((zone, index) => [
      ...repeated(
        zone.steps.map((step) => step.step),
        (step) => `zones[${index}].steps[${step}].step`,
        'step',
      ),
      ...zone.steps.flatMap((step, s) => stepContradictions(step, zone, `zones[${index}].steps[${s}]`)),
      ...(zone.layers.from > zone.layers.to
        ? [
            {
              field: `zones[${index}].layers`,
              found: `${zone.layers.from} to ${zone.layers.to}`,
              expected: 'from not above to',
              remedy: 'swap the two ends',
            },
          ]
        : []),
    ]),
    ...document.chamber.inertChannels.flatMap((channel, index) =>
      chamberChannels.has(channel)
        ? []
        : [
            {
              field: `chamber.inertChannels[${index}]`,
              found: channel,
              expected: 'a channel that has a window under chamber.windows',
              remedy: 'add a window for it or take it out of the list',
            },
          ],
    ),
  ];
}

export const recipe = defineKind<Recipe>({
  kind: 'recipe',
  numbering: 'document',
  purpose:
    'How each zone is built: layers, steps (deposit, peen, mill), settings, and the windows the log must stay in.',
  schema: Recipe,
  key: (document) => document.recipe,
  name: (document) => document.title,
  links: (document) => [
    tie('of family', 'family', document.family, 'family', { aside: true }),
    tie('for machine', 'machine', document.machine, 'machine', { aside: true }),
    ...(document.software ?? []).map(({ software, revision }, index) =>
      tie('designed with', 'software', software, `software[${index}]`, { revision }),
    ),
    ...(document.approval ? [tie('approval claimed by', 'person', document.approval.by, 'approval.by')] : []),
  ],
  contradictions,
  files: (document) => originalOf(document.approval, 'approval'),
});
