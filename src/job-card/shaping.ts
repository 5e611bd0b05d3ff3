import fontkit from '@pdf-lib/fontkit';
import { rightToLeft } from './direction.ts';

type Kit = typeof fontkit;
/** The third argument is the library's own, though its types leave it out: the script, which it else takes from the first letter. */
type Layout = (
  words: string,
  features?: unknown,
  script?: string,
) => ReturnType<ReturnType<Kit['create']>['layout']>;

/**
 * The library throws "regeneratorRuntime is not defined" at scripts that it shapes by its universal engine (github.com/Hopding/pdf-lib
 * issues 785 and 1419), of which the typeface has Tifinagh. Only what is written from right to left needs another way of joining
 * letters here, and that works; all else is laid out as Latin is, one letter after the other.
 */
export const shaping: Kit = {
  ...fontkit,
  create(file, name) {
    const font = fontkit.create(file, name);
    const layout = font.layout.bind(font) as Layout;
    font.layout = (words, features) => layout(words, features, rightToLeft.test(words) ? undefined : 'latn');
    return font;
  },
};
