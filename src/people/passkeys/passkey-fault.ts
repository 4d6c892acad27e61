import { AppError } from '../../base/errors.js';
import { type PasskeyFault, passkeyFaultText } from '../../report/phrases/passkeys.js';

/** That what a passkey gave does not count; `fault.code` says why. */
export class PasskeyError extends AppError {
  constructor(readonly fault: PasskeyFault) {
    super('REFUSED', passkeyFaultText(fault), { passkey: fault.code });
  }
}
