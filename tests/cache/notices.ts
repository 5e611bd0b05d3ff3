import type { Notice } from '../../src/notice.ts';

/** What was noticed, in order. */
export function noticeBook() {
  const all: Notice[] = [];
  return {
    all,
    notify: (notice: Notice): void => {
      all.push(notice);
    },
    /** Results of `get`, in order; those before the last call are not told again. */
    results(): string[] {
      return all.splice(0).flatMap((notice) => (notice.kind === 'cache' ? [notice.result] : []));
    },
  };
}
