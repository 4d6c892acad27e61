import type { Facts, Recorded } from '../../dossier/facts.js';
import type { PlaceFinding } from '../../kinds/place-log.js';
import type { StoragePlace } from '../../kinds/storage-place.js';
import { isDuring, isLogged, logsOfPlace, type PlaceStay, staysIn } from '../place-stays.js';
import { type Check, subject } from './check.js';
import type { FindingDraft } from './finding-draft.js';

/** Whether the places in which parts of the lot lay kept their windows while these were there. */
export const placesKept: Check = {
  code: 'places-kept',
  since: 1,
  clause: 'ISO 13485:2016 6.4.1, 7.5.11',
  moment: 'sterilisation',
  run(facts) {
    const asked = [...facts.places.values()].map((place) => ({ place, stays: staysIn(facts, place) }));
    const stays = asked.reduce((sum, item) => sum + item.stays.length, 0);
    return {
      findings: asked.flatMap(({ place, stays: own }) => against(facts, place, own)),
      basis: { places: String(asked.filter((item) => item.stays.length > 0).length), stays: String(stays) },
      doesNotApply: stays === 0,
    };
  },
};

function against(facts: Facts, place: Recorded<StoragePlace>, stays: readonly PlaceStay[]): FindingDraft[] {
  const { place: code } = place.body;
  const common = { subjects: [subject('storage-place', code)], mayBeDecided: 'decision' as const };
  const unlogged = stays.filter((stay) => !isLogged(facts, place, stay));
  return [
    ...(unlogged.length === 0
      ? []
      : [
          {
            ...{ ...common, rule: 'not logged', effect: 'cannot be decided' as const, units: unitsOf(unlogged) },
            facts: { place: code, members: JSON.stringify(unlogged.map(({ key }) => key)) },
          },
        ]),
    ...logsOfPlace(facts, place)
      .flatMap(({ findings }) => findings)
      .flatMap((finding) => {
        if (finding.level === 'alert') return [];
        const touched = stays.filter((stay) => isDuring(stay, finding));
        const isFatal = finding.rule === 'excursion' && finding.level === 'reject';
        // Powder and coupons act through what they stand for: people say what it means for the implants.
        const failed = isFatal ? touched.filter(({ kind }) => kind === 'implant') : [];
        const others = touched.filter((stay) => !failed.includes(stay));
        return [
          ...(failed.length === 0
            ? []
            : [
                {
                  ...{ ...common, ...told(code, finding, failed), mayBeDecided: 'no' as const },
                  effect: 'does not conform' as const,
                },
              ]),
          ...(others.length === 0 ? [] : [{ ...common, ...told(code, finding, others) }]),
        ];
      }),
  ];
}

function told(place: string, finding: PlaceFinding, stays: readonly PlaceStay[]) {
  const isExcursion = finding.rule === 'excursion';
  const { level, channel, ucum, startedAt, endedAt, worst } = finding;
  return {
    rule: isExcursion ? 'window left' : 'log not sound',
    facts: {
      ...{ place, level, channel: channel ?? '', from: startedAt, until: endedAt },
      ...(worst === undefined ? {} : { value: String(worst), limitUnit: ucum ?? '' }),
      members: JSON.stringify(stays.map(({ key }) => key)),
    },
    effect: 'cannot be decided' as const,
    units: unitsOf(stays),
  };
}

const unitsOf = (stays: readonly PlaceStay[]): string[] => [...new Set(stays.flatMap(({ units }) => units))];
