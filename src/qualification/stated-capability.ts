import type { CapabilityStating } from '../trend/capability-stating.js';
import { FAMILY } from './names.js';
import { specification } from './specification.js';
import { STRIP_CHARACTERISTICS, STRIP_FAMILY } from './strips/strip-site.js';

interface Stating {
  readonly stating: CapabilityStating;
  readonly review: () => Promise<void>;
  readonly actor: string;
}

const STATED = [
  [FAMILY, specification.characteristics],
  [STRIP_FAMILY, STRIP_CHARACTERISTICS],
] as const;

/**
 * A year of lots has been built: what families are able to, or not, is stated, and quality reviews it, before the next lot is
 * built. Where no index can be stated, nothing is.
 */
export const statedMoment = ({ stating, review, actor }: Stating) => ({
  at: '2026-10-12T14:00:00Z',
  happen: async () => {
    for (const [family, characteristics] of STATED) {
      for (const { characteristic } of characteristics as readonly { readonly characteristic: string }[]) {
        await stating.state(characteristic, family, {}, actor);
      }
    }
    await review();
  },
});
