import { z } from 'zod';

/** A certificate of what went into a build that took the place of an earlier one. */
const CorrectedPaper = z.strictObject({
  receipt: z.string(),
  certificate: z.string().describe('its number'),
  issued: z.string(),
  replaces: z.string().describe('number of the one before'),
  build: z.string(),
  closedAt: z.string().describe('when the chamber was closed'),
});

/**
 * What an implant was through before it became a stock part. Where it was built on a stock part itself that was an implant too,
 * the origin of that one stands beside it, and so on back to what came with a receipt.
 */
export const StockOrigin = z.strictObject({
  stockPart: z.string(),
  implant: z.string().describe('serial of what it was'),
  lot: z.string().describe('lot in which it was made'),
  builds: z.array(z.string()).describe('closures of its chamber, in order, those that were broken off among them'),
  receipts: z.array(z.string()).describe('receipts of the powder of these builds'),
  heats: z.array(z.string()).describe('heats of these receipts, each with its supplier'),
  corrected: z
    .array(CorrectedPaper)
    .min(1)
    .optional()
    .describe('certificates of its powder, its gas and its stock that correct another, build by build'),
  builtOn: z
    .strictObject({
      stockPart: z.string(),
      material: z.string(),
      receipt: z
        .strictObject({
          receipt: z.string(),
          heats: z.array(z.string()).describe('each with its supplier'),
          certificate: z.string().optional().describe('its number'),
          expiry: z.string().optional(),
        })
        .optional()
        .describe('with which it came; what was an implant has none, and an origin of its own'),
    })
    .optional()
    .describe('stock part on which it was built itself'),
  fate: z
    .strictObject({ as: z.string(), at: z.string(), by: z.string() })
    .optional()
    .describe('what its lot says became of it'),
  events: z
    .array(z.strictObject({ kind: z.string(), key: z.string(), what: z.string(), at: z.string() }))
    .describe('documents that say where it went or what was wrong with it, in order of time'),
});
export type StockOrigin = z.infer<typeof StockOrigin>;

/** A part that was built on a stock part, of whatever lot. */
export const StockUse = z.strictObject({
  stockPart: z.string(),
  part: z.string().describe('serial or coupon'),
  lot: z.string(),
  build: z.string(),
  closedAt: z.string().describe('when the chamber was closed'),
});
export type StockUse = z.infer<typeof StockUse>;

/**
 * The part of a lot file that is there when parts of the lot were built on stock: what of it was an implant went through, and
 * all that was built on it up to the last closure of the lot. Later uses are left out, so that a lot looks the same for ever.
 */
export const StockStoryPart = z.strictObject({ origins: z.array(StockOrigin), uses: z.array(StockUse) });
export type StockStory = z.infer<typeof StockStoryPart>;

export const NO_STOCK: StockStory = { origins: [], uses: [] };
