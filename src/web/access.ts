import { Reflector } from '@nestjs/core';

/**
 * Who may ask a route. What an act needs beyond that is checked by the act, which records its refusal; `administrator` is
 * for pages that only lead to such an act.
 */
export type Asker = 'everyone' | 'signed in' | 'administrator';

/** Stands at every handler: a route without it is refused to everybody. */
export const Access = Reflector.createDecorator<Asker>();

/** At a handler that changes nothing of the cell although its method could: an auditor may ask for it too. */
export const StoresNothing = Reflector.createDecorator<void, true>({ transform: () => true });
