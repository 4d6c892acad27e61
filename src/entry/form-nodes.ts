import type { Referenced } from '../kinds/reference-fields.js';

/** A part of a form as its template draws it, from what the kind asks for and what was typed so far. */
export type FormNode = FieldNode | GroupNode | ListNode;

export interface Placed {
  /** Its place in the document, which is the name of its field. */
  readonly path: string;
  readonly label: string;
  readonly help: string | undefined;
  readonly errors: readonly string[];
}
export interface FieldNode extends Placed {
  readonly is: 'field';
  readonly name: string;
  readonly value: string;
  readonly mayMiss: boolean;
  readonly unit: string | undefined;
  readonly type: 'text' | 'date' | 'long' | 'moment';
  /** Of a moment: what the clocks of the site show then; empty where nothing was typed. */
  readonly local: string | undefined;
  /** What codes are known that may stand here. */
  readonly known: KnownList | undefined;
  readonly isFile: boolean;
  readonly options: readonly { readonly value: string; readonly text: string }[] | undefined;
  /** The button that takes this row of a list away. */
  readonly less: Button | undefined;
  /** Most characters that it takes, where that are others than usual. */
  readonly most?: number;
}
export interface GroupNode extends Placed {
  readonly is: 'group';
  readonly parts: readonly FormNode[];
  readonly isOpen: boolean;
  /** Whether it is an amount with its unit: then the two stand beside each other. */
  readonly isPair: boolean;
  /** Whether it is a row of a list and holds plain fields: then they stand side by side. */
  readonly isRow: boolean;
  /** Opens or leaves out what may be missing, or takes a row away. */
  readonly button: Button | undefined;
  /** A shape is chosen first, and shown by this button. */
  readonly show: Button | undefined;
  /** Set where it is so long that it is folded. */
  readonly fold: Fold | undefined;
}
export interface ListNode extends Placed {
  readonly is: 'list';
  readonly mayMiss: boolean;
  readonly rows: readonly FormNode[];
  /** Names of hidden fields that keep a row that is still empty. */
  readonly kept: readonly string[];
  readonly more: Button;
}
export interface Button {
  readonly action: string;
  readonly text: string;
}
/** What of a folded part is seen: what its first fields say. */
export interface Fold {
  readonly isOpen: boolean;
  readonly says: string;
}
/** A list of codes that fields of a form share. */
export interface KnownList extends Referenced {
  readonly id: string;
}
