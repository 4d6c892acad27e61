/** Where what a command reads could not be noted. */
export const notNotedText = (why: string): string => `That this was read could not be noted in the audit trail: ${why}`;
