import { canonicalJson } from '../../dossier/canonical.js';
import type { Facts } from '../../dossier/facts.js';
import { alikeSettings, type SettingInZone, settingsInZones } from '../logged-settings.js';
import { type Check, subject } from './check.js';
import type { FindingDraft } from './finding-draft.js';

const RULES: Partial<Record<SettingInZone['standing'], string>> = {
  'not followed': 'set value not followed',
  'no deviation stated': 'no allowed deviation stated',
  'not logged': 'setting not logged',
  'units do not compare': 'units do not compare',
};

function findingFor(all: readonly [SettingInZone, ...SettingInZone[]]): FindingDraft[] {
  const [first] = all;
  const rule = RULES[first.standing];
  const { build, recipe, recipeZone, step, parameter, allowed } = first;
  // A channel that repeats the setting and is not logged is a finding of the log already.
  const isTold = first.standing === 'not logged' && parameter.channel !== undefined && parameter.actual === undefined;
  if (rule === undefined || isTold) return [];
  const logged = all.flatMap(({ zone, logged: found }) =>
    found === null ? [] : [[zone, String(found.mean), String(found.min), String(found.max)]],
  );
  return [
    {
      rule,
      subjects: [subject('recipe', recipe), subject('build', build)],
      facts: {
        build,
        recipe,
        step,
        zone: recipeZone,
        parameter: parameter.parameter,
        set: parameter.set,
        unit: parameter.ucum,
        zones: canonicalJson(all.map(({ zone }) => zone)),
        logged: canonicalJson(logged),
        ...(first.logged === null ? {} : { channel: first.logged.channel }),
        ...(allowed === null ? {} : { lower: String(allowed.low), upper: String(allowed.high) }),
      },
      effect: 'cannot be decided',
      mayBeDecided: 'decision',
      units: [...new Set(all.flatMap(({ units }) => units))].sort(),
    },
  ];
}

const shownOtherwise = (groups: readonly (readonly [SettingInZone, ...SettingInZone[]])[]) =>
  groups.flatMap(([{ step, recipeZone, parameter, standing }]) =>
    standing === 'shown otherwise' ? [[parameter.parameter, step, recipeZone, parameter.unlogged!]] : [],
  );

export const settingsFollowed: Check = {
  code: 'settings-followed',
  since: 1,
  clause: 'ISO 13485:2016 7.5.1, 7.5.6, 8.2.5',
  moment: 'sterilisation',
  run(facts: Facts) {
    const settings = settingsInZones(facts);
    const groups = alikeSettings(settings);
    const compared = groups.filter(([{ standing }]) => standing === 'followed' || standing === 'repeated');
    return {
      findings: groups.flatMap(findingFor),
      basis: { followed: String(compared.length), unlogged: canonicalJson(shownOtherwise(groups)) },
      doesNotApply: settings.every(({ standing }) => standing === 'step not logged'),
    };
  },
};
