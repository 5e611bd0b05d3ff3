/**
 * A repair as a decision problem: numbers only, no words, no appliance. `compile.ts` makes one from a flow, a
 * person and the community's prices; `plan.ts` solves it.
 *
 * The world of a problem has one appliance with one fault, covers that may be open, power that leaves a charge
 * behind, and remedies whose effect is unknown until the appliance is switched on again ("tested").
 *
 * Rules of the world, for every implementation (the plan, the brute force in the tests, the rehearsal):
 *  1. A step inside a stage first opens every closed stage on the way (`stages[..].open`, paid once, closing
 *     included), and, when the appliance is `charged`, first pays `discharge`; then it is not charged any more.
 *     This holds for every step inside, whatever its power: live work is clipped on dead, a look is prepared dead.
 *  2. `power: 'off'` leaves charge and covers as they are. `power: 'on'` leaves the appliance charged. Done outside,
 *     it first shuts all covers where `testShut` (opening again costs again), and leaves them as they are where not.
 *     Done inside, the covers stay open whatever `testShut` says (live work).
 *     `power: 'look'` is prepared inside without power, then everything is shut and powered, and seen from the front:
 *     afterwards all is shut (whatever `testShut` says), charged, and `altered`. A look has a stage, never −1.
 *  3. While `altered`, only steps inside (which put it right in passing: the minutes are in the look's own cost; a
 *     further look alters it again) and stopping are possible.
 *  4. A remedy outside, or one that is `alone`, is tested at once. Any other is `pending`: then only steps inside
 *     with power off that are not `alone` (checks too), and `test`, are possible. Stopping with remedies pending is
 *     not possible, nor is `test` with none pending. A remedy with `times` left may be pending twice.
 *  5. `test` pays `test`, shuts the covers where `testShut`, leaves the appliance charged, and either ends the case
 *     (it works: 1 − Π(1 − cure) over the remedies pending, for each fault) or multiplies the weights by Π(1 − cure).
 *     A remedy tested at once does all of this itself, right after its own cost.
 *  6. A step is possible while done fewer than `times` times and, where it has `needs`, once one of them was found:
 *     the last outcome of that check is the one named. Checks are independent given the fault, repeats too, and a
 *     pending remedy does not change what a check would show.
 *  7. Costs of steps, stages, `discharge` and `test` are never negative; what a stop costs may be (a sale).
 */
export interface Problem {
  /** Number of faults, F. They are exclusive and exhaustive. */
  readonly faults: number;
  readonly steps: readonly ProblemStep[];
  /** At most 20. */
  readonly stages: readonly ProblemStage[];
  /** At least one. The cheapest ends the case. */
  readonly stops: readonly ProblemStop[];
  readonly discharge: Cost;
  readonly test: Cost;
  /** Covers have to be shut before the appliance is powered (for a test or a step outside). */
  readonly testShut: boolean;
  readonly rates: Rates;
}

/** Hands-on minutes, minutes of waiting, and money in the community's currency. */
export interface Cost {
  readonly minutes: number;
  readonly wait: number;
  readonly money: number;
}

/** What a minute costs, in the community's currency. */
export interface Rates {
  readonly minute: number;
  readonly wait: number;
}

export interface ProblemStage {
  /** Index of the stage this one lies behind; −1 for the outside. Always smaller than its own index. */
  readonly behind: number;
  /** Opening and, later, closing. */
  readonly open: Cost;
}

export type ProblemStep = ProblemCheck | ProblemRemedy;

interface Common {
  readonly id: string;
  readonly cost: Cost;
  /** Index of the stage it happens in; −1 for the outside. */
  readonly stage: number;
  readonly power: 'off' | 'on' | 'look';
  readonly times: number;
  /** Any one of these findings makes it possible; empty: always possible. Each names a check and its outcome. */
  readonly needs: readonly { readonly step: number; readonly outcome: number }[];
}

export interface ProblemCheck extends Common {
  readonly kind: 'check';
  /** One row of length F for each outcome: P(outcome | fault). Each column sums to 1. */
  readonly outcomes: readonly Float64Array[];
}

export interface ProblemRemedy extends Common {
  readonly kind: 'remedy';
  readonly power: 'off';
  /** Length F: P(it works afterwards | fault). */
  readonly cures: Float64Array;
  readonly alone: boolean;
}

export interface ProblemStop {
  readonly id: string;
  /** Length F: what stopping here costs when that fault is the true one. */
  readonly cost: Float64Array;
}

/** Where a case stands. `weights` need not sum to 1: P(fault, all answers so far) up to a factor. */
export interface ProblemState {
  readonly weights: Float64Array;
  /** How often each step was done. */
  readonly done: Uint8Array;
  /** The last outcome of each check; −1 where there is none. */
  readonly found: Int8Array;
  /** Bit i is set when stage i is open. */
  readonly open: number;
  readonly charged: boolean;
  readonly altered: boolean;
  /** Remedies done since the last test, as step indices. */
  readonly pending: readonly number[];
}

export const money = (cost: Cost, rates: Rates): number =>
  cost.minutes * rates.minute + cost.wait * rates.wait + cost.money;

export type Choice =
  | { readonly kind: 'step'; readonly step: number }
  | { readonly kind: 'test' }
  | { readonly kind: 'stop'; readonly stop: number };

/** Outcomes of a test, and of a remedy that waits for one. */
export const works = 0;
export const worksNot = 1;
export const nothingSeen = -1;

/** What is still to be expected, in the units of `Cost`; `chance` that it works again through the person's own steps. */
export interface Forecast {
  /** Expected total cost, in the community's currency, from here to the end. */
  readonly cost: number;
  readonly minutes: number;
  readonly wait: number;
  readonly money: number;
  readonly chance: number;
}

export interface Plan extends Forecast {
  readonly choice: Choice;
  /**
   * What may follow, possible outcomes only; `probability` sums to 1. `outcome` is that of a check; for a test, or a
   * remedy tested at once, `works` or `worksNot`; for a remedy left pending, `nothingSeen`. Empty for a stop.
   */
  readonly after: readonly {
    readonly outcome: number;
    readonly probability: number;
    readonly next: Choice | null;
    readonly forecast: Forecast;
  }[];
  /**
   * Other first choices, cheapest first, at most five: the best of each kind (check, remedy, test, stop), then the
   * next best of any. `cost` is what the best plan found that begins so would cost.
   */
  readonly rivals: readonly { readonly choice: Choice; readonly cost: number }[];
  /** True when the whole tree was searched, so that no policy is cheaper. */
  readonly exact: boolean;
  /** Work done, in the unit of the budget. */
  readonly nodes: number;
}
