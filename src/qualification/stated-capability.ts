import type { CapabilityStating } from '../trend/capability-stating.js';
import { FAMILY } from './names.js';
import { specification } from './specification.js';

interface Stating {
  readonly stating: CapabilityStating;
  readonly review: () => Promise<void>;
  readonly actor: string;
}

/** A year of lots has been built: what the family is able to is stated, and quality reviews it, before the next lot is built. */
export const statedMoment = ({ stating, review, actor }: Stating) => ({
  at: '2026-10-12T14:00:00Z',
  happen: async () => {
    for (const { characteristic } of specification.characteristics as readonly { readonly characteristic: string }[]) {
      await stating.state(characteristic, FAMILY, {}, actor);
    }
    await review();
  },
});
