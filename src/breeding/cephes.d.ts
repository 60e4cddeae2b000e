/** What is used of the package, whose own declarations TypeScript cannot reach through its "exports". */
declare module 'cephes' {
  export const compiled: Promise<void>;
  /** The χ² distribution's upper tail. */
  export function chdtrc(df: number, x: number): number;
  /** The inverse of the regularised incomplete beta function. */
  export function incbi(a: number, b: number, probability: number): number;
  /** The standard normal distribution function. */
  export function ndtr(x: number): number;
  /** ln |Γ(x)| */
  export function lgam(x: number): number;
}
