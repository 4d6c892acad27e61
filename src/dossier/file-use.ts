/** What a file of a document is evidence of, as a lot file lists it: `model of case-design K-1 rev 2`. */
export const useOfFile = (name: string, { kind, key }: { readonly kind: string; readonly key: string }): string =>
  `${name} of ${kind} ${key}`;
