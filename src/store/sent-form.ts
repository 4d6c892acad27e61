import { AsyncLocalStorage } from 'node:async_hooks';

/**
 * A form that somebody sent, by the number that it was shown with. The change that records its act uses the number up, so
 * that the same form sent twice acts once.
 */
export class SentForm {
  /** Whether an act of this form is recorded. */
  isUsed = false;

  /** @param session in which it was shown; empty where nobody is signed in. */
  constructor(
    readonly session: string,
    readonly number: string,
  ) {}
}

const sending = new AsyncLocalStorage<SentForm>();

/** Runs `work`, and every change that it makes, for this form. */
export const sendForm = <T>(form: SentForm, work: () => T): T => sending.run(form, work);

/** The form whose sending asked for what runs now; undefined for everything else. */
export const currentForm = (): SentForm | undefined => sending.getStore();
