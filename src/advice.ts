/** Something the operator can put right; printed without a stack. */
export class Advice extends Error {}
