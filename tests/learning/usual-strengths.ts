import { Learning } from '../../shared/community.ts';

/** As how many cases a file counts, unless a community says otherwise. */
export const { strengths } = Learning.parse({});
