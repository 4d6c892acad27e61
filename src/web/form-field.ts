/** A field of a form, as the partial `field.eta` draws it. */
export interface FormField {
  readonly name: string;
  readonly label: string;
  readonly hint?: string;
  readonly type: 'text' | 'password' | 'date';
  readonly value?: string;
  /** A choice instead of free typing. */
  readonly options?: readonly { readonly value: string; readonly label: string }[];
  readonly autocomplete?: string;
  readonly required: boolean;
}
