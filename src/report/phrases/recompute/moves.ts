import type { Facts } from '../../../dossier/facts.js';

const MOVES = `2a. What is the lot, after units went on in another one?
  A unit-move says which implants and coupons went from "fromLot" to "toLot". By the lot is meant, in all that follows, its
  document with this change.
  - Parts that left it stay in it, and have under "fates" the fate moved, with the "at" of their move and shown by it.
  - A lot with "splitFrom" has no builds, implants and coupons of its own. The document of that lot is pinned too, here called
    the origin. Implants are those of the origin that moves brought over; coupons those of the origin that stand for one of them,
    their "standsFor" cut to these; builds those of the origin that any of these parts went through ("build", and "build" of
    "alsoIn"), with those that such a build continues, or all where no implant came. "invalidTests", "replacements", "fates" and
    "scans" are those of the origin that name no other part, and then its own. "decisions", "labels" and all else are its own.
  - Steps: of the origin, as far as a part had not left before their "at"; then its own, as far as a part came over; of a lot that
    parts left, as far as they had not left. What is left of a step names the parts that are left; it is none without a part,
    and names none where it named none before and all parts of the lot are left.
`;

/** How moves change a lot; nothing where there are none. */
export const movesNote = ({ moves, lot }: Facts): string =>
  moves.size > 0 || lot.body.splitFrom !== undefined ? `${MOVES}\n` : '';
