import { Learning } from '../../shared/community.ts';
import type { Strengths } from './posterior.ts';

const usual = Learning.parse({});

/**
 * As how many cases the file counts, unless a community says otherwise. If a fault's weight is off by the factor exp(b N(0, 1)), its
 * share p varies by p² b² (1 - p)² or so, and a Dirichlet that varies so has strength (1 / b²) / (p (1 - p)): for p = .15, 87 cases at
 * b = .3 and 196 at b = .2. The larger one forgoes little where the file is far off; where it is right or nearly so, it keeps the chance
 * of fifty cases from making the desk worse, which 20 does not (`tests/learning/recovery.test.ts`).
 */
export const strengths: Strengths = usual.strengths;

/** Days after which a case counts half: appliances of a kind are sold for some years. */
export const halfLifeDays = usual.half_life_days;
