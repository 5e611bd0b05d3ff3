import { linesOf } from './font.ts';
import { line, rect, svg, text } from './svg.ts';

/** The first steps of a plan as a tree, from left to right: what is done, the answers with their shares, what follows. */
export interface TreeNode {
  readonly title: string;
  readonly kind: 'ask' | 'do' | 'stop';
  /** What is most likely at this point. */
  readonly note: string;
  readonly branches: readonly { readonly label: string; readonly share: number; readonly node: TreeNode }[];
}

const box = { width: 250, height: 84 };
const gap = { x: 190, y: 16 };
const margin = 16;
const head = 44;
const fills = { ask: '#eef3fb', do: '#eef7ee', stop: '#f4f1ea' } as const;

/** Leaves decide the height. */
const leaves = (node: TreeNode): number =>
  node.branches.length === 0 ? 1 : node.branches.reduce((sum, one) => sum + leaves(one.node), 0);
const depth = (node: TreeNode): number => 1 + Math.max(0, ...node.branches.map((one) => depth(one.node)));

export function treePicture(root: TreeNode, title: string): string {
  const parts: string[] = [text(margin, margin + 18, title, { size: 20, bold: true })];
  const place = (node: TreeNode, x: number, top: number): number => {
    const height = leaves(node) * (box.height + gap.y);
    const y = top + (height - box.height - gap.y) / 2;
    let below = top;
    for (const { label, share, node: next } of node.branches) {
      const nextX = x + box.width + gap.x;
      const nextY = place(next, nextX, below);
      const [from, to] = [y + box.height / 2, nextY + box.height / 2];
      parts.push(line(x + box.width, from, x + box.width + 24, to, 'stroke="#7a7a7a" stroke-width="1.5"'));
      parts.push(line(x + box.width + 24, to, nextX, to, 'stroke="#7a7a7a" stroke-width="1.5"'));
      linesOf(`${Math.round(100 * share)} % ${label}`, gap.x - 36, 12, 2).forEach((words, i, all) => {
        parts.push(text(x + box.width + 30, to - 6 - (all.length - 1 - i) * 14, words, { size: 12 }));
      });
      below += leaves(next) * (box.height + gap.y);
    }
    parts.push(
      rect({ x, y, ...box }, `fill="${fills[node.kind]}" stroke="#1a1a1a" stroke-width="1.2" rx="4"`),
    );
    const words = linesOf(node.title, box.width - 20, 14, 2, true);
    words.forEach((one, i) => {
      parts.push(text(x + 10, y + 22 + i * 18, one, { size: 14, bold: true }));
    });
    linesOf(node.note, box.width - 20, 12, 1).forEach((one) => {
      parts.push(text(x + 10, y + box.height - 12, one, { size: 12, fill: '#444444' }));
    });
    return y;
  };
  place(root, margin, head);
  const columns = depth(root);
  return svg(
    2 * margin + columns * box.width + (columns - 1) * gap.x,
    head + leaves(root) * (box.height + gap.y) + margin,
    parts,
  );
}
