import { digest, type Json, moment, unique } from './carried.js';
import type { Asked } from './checks.js';
import { reportsOf } from './checks-of-papers.js';
import { decided, decidedSince, implantsOf } from './closures.js';
import { isPartOf, reworkSteps } from './reworks.js';
import { approvalOf, C, type Found, found, unapproved } from './words.js';

export const CHECKS_OF_REWORKS: Readonly<Record<string, Asked>> = {
  'rework-repeated': (carried) => {
    const steps = reworkSteps(carried);
    const all = [...carried.serials, ...carried.coupons.map(({ coupon }) => coupon as string)];
    const toRework = reportsOf(carried).flatMap(({ body, units }) => {
      const { nonconformity, says, touches, evaluation, disposition } = body;
      const id = digest({ nonconformity, says, touches, evaluation, disposition });
      const isDecided = disposition !== undefined && decided(carried, id) === 'accepted';
      const own = units.filter((unit) =>
        (disposition ?? []).some((one: Json) => one.units.includes(unit) && one.as === 'rework'),
      );
      const since = decidedSince(carried, id);
      return isDecided ? own.map((unit) => ({ nonconformity: nonconformity as string, unit, since })) : [];
    });
    const named = unique(steps.map(({ step }) => `${step.instruction.instruction} ${step.instruction.revision}`));
    const ofInstructions = named.flatMap((name): Found[] => {
      const own = steps.filter(({ step }) => `${step.instruction.instruction} ${step.instruction.revision}` === name);
      const parts = own.flatMap(({ step }) => step.parts ?? all) as string[];
      const units = unique(parts.flatMap((part) => implantsOf(carried, part)));
      const document = own[0]!.document;
      if (document === undefined) return [found('instruction not on record', units)];
      const first = own.map(({ step }) => step.at as string).reduce((a, b) => (moment(b) < moment(a) ? b : a));
      return [
        ...unapproved(approvalOf(carried, document.digest, document.body.approval), {
          before: first,
          rule: 'approved after the work',
          units,
        }),
        ...(moment(document.body.effectiveFrom) > moment(first) ? [found('not yet effective', units, C)] : []),
      ];
    });
    const ofUnits = carried.serials.flatMap((unit) => {
      const mine = steps.filter(({ step }) => isPartOf(step, unit));
      return unique(mine.map(({ step }) => step.instruction.instruction as string)).flatMap((code): Found[] => {
        const own = mine
          .filter(({ step }) => step.instruction.instruction === code)
          .sort((a, b) => moment(a.step.at) - moment(b.step.at));
        const last = own.at(-1)!;
        const body = last.document?.body;
        if (body === undefined) return [];
        const names: string[] = unique(body.steps.map(({ step }: Json) => step as string));
        const listed = (name: string) => body.steps.filter(({ step }: Json) => step === name).length as number;
        const done = (name: string) => own.filter(({ step }) => step.step === name).length;
        const times = Math.max(...names.map((name) => Math.ceil(done(name) / listed(name))));
        const isPlanned = (wanted: string) =>
          carried.specification.body.characteristics.some(({ characteristic }: Json) => characteristic === wanted);
        const open = body.repeat.filter(
          (wanted: string) =>
            !(body.disturbs.includes(wanted) && isPlanned(wanted)) &&
            !carried.current.some(
              (row) =>
                row.characteristic === wanted &&
                moment(row.measuredAt!) >= moment(last.step.at) &&
                (row.specimen === unit || implantsOf(carried, row.specimen!).includes(unit)),
            ),
        );
        const decision = toRework.find((one) => one.unit === unit && one.nonconformity === body.nonconformity);
        return [
          ...(decision ? [] : [found('not decided as rework', [unit])]),
          ...(decision && decision.since > moment(own[0]!.step.at) ? [found('decided after the work', [unit], C)] : []),
          ...(times > body.timesAtMost ? [found('reworked too often', [unit], C)] : []),
          ...(names.some((name) => done(name) < times * listed(name)) ? [found('step left out', [unit], C)] : []),
          ...(open.length > 0 ? [found('not measured again', [unit], C)] : []),
        ];
      });
    });
    const undone = toRework.filter(
      ({ unit, nonconformity }) =>
        !steps.some(({ step, document }) => isPartOf(step, unit) && document?.body.nonconformity === nonconformity),
    );
    return {
      found: [...ofInstructions, ...ofUnits, ...undone.map(({ unit }) => found('no rework by an instruction', [unit]))],
      applies: steps.length > 0 || toRework.length > 0,
    };
  },
};
