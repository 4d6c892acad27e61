import { z } from 'zod';
import { KnownPassword } from './password-fields.js';

export const SignInRequest = z.strictObject({
  person: z
    .string({ error: 'your identifier' })
    .trim()
    .min(1, 'your identifier')
    .max(60, 'an identifier of at most 60 characters'),
  password: KnownPassword,
});
export type SignInRequest = z.infer<typeof SignInRequest>;

const LONGEST_NEXT = 2000;

/** Own address to go on to. Anything else, another site above all, leads to the first page, and so does a longer one. */
const Next = z
  .string()
  .transform((text) => (text.length <= LONGEST_NEXT && /^\/(?![/\\])[^\\\p{Cc}]*$/u.test(text) ? text : ''))
  .default('');

export const SignInQuery = z.strictObject({ next: Next });
export type SignInQuery = z.infer<typeof SignInQuery>;

export const SignInForm = SignInRequest.extend({ next: Next });
export type SignInForm = z.infer<typeof SignInForm>;

/** What goes back into the form. A password never does. */
export const TypedSignIn = z.object({ person: z.string().max(60).catch(''), next: Next.catch('') });

/** The second step of those who have a passkey. */
export const PasskeyForm = z.strictObject({ ticket: z.string().max(100), next: Next });
export type PasskeyForm = z.infer<typeof PasskeyForm>;

export const TypedPasskey = z.object({ next: Next.catch('') });
