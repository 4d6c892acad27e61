/** A sign before a number, and before it what is left as it is: what people type or take elsewhere, and tags. */
const SIGN = /<(textarea|pre|code)[\s>][\s\S]*?<\/\1>|<[^>]*>|(?<![\p{L}\p{N}_.,:/+-])-(?=\d)/gu;

/** Shows negative numbers of a page with the minus sign, as charts do. Files and forms keep the hyphen, which programs read. */
export const minusSigns = (html: string): string => html.replaceAll(SIGN, (text) => (text === '-' ? '−' : text));
