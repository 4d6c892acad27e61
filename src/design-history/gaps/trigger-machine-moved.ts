import { type GapRule, ref } from './gap-rule.js';

export const triggerMachineMoved: GapRule = {
  code: 'trigger-machine-moved',
  clause: 'ISO 13485:2016 7.5.6',
  find(design) {
    const machines = new Map(design.entries('machine').map((revisions) => [revisions[0]!.key, revisions]));
    return design.current('process-validation').flatMap((validation) => {
      const { machine, performance } = validation.body;
      const revisions = machines.get(machine) ?? [];
      const then =
        revisions.filter(({ recordedAt }) => recordedAt.slice(0, 10) <= performance.at).at(-1) ?? revisions[0];
      const now = revisions.at(-1);
      if (then === undefined || now!.body.location === then.body.location) return [];
      return [
        {
          subjects: [ref(validation), { kind: 'machine', key: machine }],
          facts: { machine, was: then.body.location, is: now!.body.location },
        },
      ];
    });
  },
};
