import type { Following } from '../ledger/recorded-rows.js';
import type { Prisma } from './generated/client.js';

type Models = Prisma.TypeMap['model'];
type Stored<M extends keyof Models> = Models[M]['payload']['scalars'];
type Nullable<T> = { [K in keyof T]: null extends T[K] ? K : never }[keyof T];
/** Numbers may come as text. */
type Field<T> = T extends number | null ? T | string : T;
/** What may be missing may be left out, and what follows from the entry is. */
type NewRow<S> = { readonly [K in Exclude<keyof S, Following | Nullable<S>>]: Field<S[K]> } & {
  readonly [K in Nullable<S>]?: Field<S[K]> | undefined;
};

/** New rows by table, in the order of storing, without the columns that all of them share. */
export type NewRows<Shared = never> = {
  readonly [M in keyof Models as 'ledgerSeq' extends keyof Stored<M> ? M : never]?: readonly Omit<
    NewRow<Stored<M>>,
    Shared & string
  >[];
};
