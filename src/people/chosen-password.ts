import type { z } from 'zod';
import { ChosenPassword } from '../web/fields.js';
import { SHORTEST_PASSWORD } from './passwords.js';

/** Fields of every form in which a person chooses a password. What it must be is a rule of `passwords.ts`. */
export const NewPassword = { password: ChosenPassword, repeated: ChosenPassword };

export const PASSWORD_HINT = `At least ${SHORTEST_PASSWORD} characters. Several unrelated words do well; no kinds of characters are asked for. A password manager may fill it in.`;

/** Says so at the second field when it differs from the first. */
export function checkRepeated(
  form: { readonly password: string; readonly repeated: string },
  context: z.core.$RefinementCtx,
): void {
  if (form.password === form.repeated) return;
  context.addIssue({ code: 'custom', path: ['repeated'], message: 'the same password a second time' });
}
