import { BadInputError } from '../base/errors.js';
import { LONGEST_REASON } from '../web/fields.js';

export const SAY_WHY = 'say why, so that a reader in fifteen years understands it';

/**
 * A reason as it stands in the audit trail, however it came: by a page, the API or a command.
 * @param remedy what to do where there is none.
 * @throws BadInputError for none, and for one that is too long.
 */
export function givenReason(text: string, remedy = SAY_WHY): string {
  const reason = text.trim();
  if (reason === '') throw badReason('nothing', 'a reason', remedy);
  if (reason.length > LONGEST_REASON) {
    throw badReason(`${reason.length} characters`, `at most ${LONGEST_REASON} characters`, 'say it more briefly');
  }
  return reason;
}

const badReason = (found: string, expected: string, remedy: string) =>
  new BadInputError([{ code: 'reason', field: 'reason', found, expected, remedy }]);
