/** What the tests use of the cephes library. Its own types are there, but its package does not lead to them. */
declare module 'cephes' {
  const cephes: {
    /** Resolves when the functions are there. */
    readonly compiled: Promise<void>;
    /** The x with P(X ≤ x) = p for X ~ Beta(a, b). */
    incbi(a: number, b: number, p: number): number;
    /** P(X ≤ x) for X ~ Beta(a, b). */
    incbet(a: number, b: number, x: number): number;
    /** The x with P(X > x) = p for a gamma variable of this shape. */
    igami(shape: number, p: number): number;
    /** P(X ≤ x) for a gamma variable of this shape. */
    igam(shape: number, x: number): number;
    /** P(X > x) for a chi-square variable. */
    chdtrc(degrees: number, x: number): number;
    /** P(X ≤ x) for a standard normal variable. */
    ndtr(x: number): number;
  };
  export = cephes;
}
