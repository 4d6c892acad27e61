import { z } from 'zod';

export const SessionAnswer = z.strictObject({
  person: z.string().describe('identifier'),
  name: z.string(),
  csrf: z.string().describe('goes into the header X-CSRF-Token of every request that is no GET'),
  endsAt: z.iso.datetime().describe('when the session ends at the latest'),
});
