import type { Baselines } from '../../design-file/baselines.js';
import type { ChangeLists } from '../../design-file/change-lists.js';
import type { LotFiles } from '../lots.js';
import { FAMILY } from '../names.js';
import { PIN_FAMILY } from '../pins/pin-site.js';
import { COATED_FAMILY } from '../stories/names.js';
import { envelope } from '../stories/site.js';
import { STRIP_FAMILY } from '../strips/strip-site.js';
import { BRIDGE_DESIGN, BRIDGE_YEAR } from './bridge-plate.js';
import { afterEnvelopeChange, COATED_DESIGN, ENVELOPE_CHANGE, envelopeChangeDecided } from './coated-plate.js';
import { STRIP_DESIGN } from './rib-strip.js';
import { WORST_LOT, worstCaseLot } from './worst-case-lot.js';
import { filed, together, type Written } from './written.js';
import { PIN_DESIGN } from './zinc-pin.js';

/** What an act brings in. */
export interface Brought {
  readonly folder: string;
  files(): LotFiles;
}

interface Played {
  readonly baselines: Baselines;
  readonly changes: ChangeLists;
  /** Takes files in. */
  readonly takeIn: (act: Brought) => Promise<void>;
  /** Everybody signs what waits for them. */
  readonly sign: () => Promise<void>;
  readonly assess: (lot: string) => Promise<void>;
  readonly actor: string;
}

/** Names of the baselines of the demo. */
export const BASELINES = {
  bridge: 'BP-2025-09',
  bridgeYear: 'BP-2026-11',
  coated: 'CP-2026-08',
  changed: 'CP-2026-11',
  strips: 'RS-2026-01',
  pins: 'ZP-2026-11',
};

/** The designs of the demo, each written down and frozen before the first lot that was built by it. */
export function designMoments({ baselines, changes, takeIn, sign, assess, actor }: Played) {
  const [ofBridge, ofCoated, later] = ['design-bridge', 'design-coated', 'design-2026-11'];
  const bridge = async () => {
    await takeIn({ folder: ofBridge, files: () => filed('design', BRIDGE_DESIGN) });
    await sign();
    await baselines.freeze(FAMILY, BASELINES.bridge, actor);
    await sign();
  };
  const coated = async () => {
    await takeIn({ folder: ofCoated, files: () => together(filed('design', COATED_DESIGN), worstCaseLot()) });
    await sign();
    await assess(WORST_LOT);
    await baselines.freeze(COATED_FAMILY, BASELINES.coated, actor);
    await sign();
  };
  /** A small design, frozen as it came in. */
  const small = (folder: string, design: readonly Written[], family: string, name: string) => async () => {
    await takeIn({ folder, files: () => filed('design', design) });
    await sign();
    await baselines.freeze(family, name, actor);
    await sign();
  };
  const strips = small('design-strips', STRIP_DESIGN, STRIP_FAMILY, BASELINES.strips);
  const pins = small('design-pins', PIN_DESIGN, PIN_FAMILY, BASELINES.pins);
  /** What a change touches is known once it is on record; it is decided with that list. */
  const change = async () => {
    await takeIn({ folder: later, files: () => filed('design', [ENVELOPE_CHANGE]) });
    const { asOf, sha256, lines } = await changes.of(COATED_FAMILY, ENVELOPE_CHANGE[0]);
    const decided = [envelopeChangeDecided({ asOf, sha256, lines }), ...afterEnvelopeChange(envelope)];
    await takeIn({ folder: later, files: () => filed('design', [...decided, ...BRIDGE_YEAR]) });
    await sign();
    await baselines.freeze(FAMILY, BASELINES.bridgeYear, actor);
    await baselines.freeze(COATED_FAMILY, BASELINES.changed, actor);
    await sign();
  };
  return [
    { at: '2025-09-19T16:00:00Z', happen: bridge },
    // Behind what they were made on, and before the first build of the pins.
    { at: '2026-01-17T08:30:00Z', happen: strips },
    { at: '2026-08-31T16:00:00Z', happen: coated },
    { at: '2026-11-06T14:00:00Z', happen: pins },
    { at: '2026-11-20T09:00:00Z', happen: change },
  ];
}
