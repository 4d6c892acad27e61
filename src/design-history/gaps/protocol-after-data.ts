import { type GapRule, ref } from './gap-rule.js';

export const protocolAfterData: GapRule = {
  code: 'protocol-after-data',
  clause: 'ISO 13485:2016 7.3.6',
  find: (design) =>
    design
      .current('design-study')
      .filter(({ body }) => body.protocol.approvedAt.slice(0, 10) > body.from)
      .map((study) => ({
        subjects: [ref(study)],
        facts: { approved: study.body.protocol.approvedAt.slice(0, 10), from: study.body.from },
      })),
};
