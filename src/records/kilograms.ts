import type { Category } from './ords.ts';

/** What a typical piece weighs, and where the figure comes from. */
export interface Mass {
  /** Null where no figure would mean anything. */
  readonly kg: number | null;
  /** Statistical classes (UNU-KEYS) whose published mean it was set beside; a class is often wider than the category. */
  readonly unu: readonly string[];
  readonly source: string;
}

const estimate = (kg: number, unu: readonly string[]): Mass => ({
  kg,
  unu,
  source:
    unu.length > 0
      ? `author’s estimate, set beside UNU-KEYS ${unu.join(', ')}`
      : 'author’s estimate; there is no class of its own',
});

/**
 * Typical kilograms of one appliance by category of the Open Repair Data Standard. Every one is an author's estimate of what
 * people carry to a repair table, set beside the mean weights that Statistics Netherlands publishes by UNU-KEY ("Waste over
 * Time", htbl_Key_Weight, 2019).
 */
export const kilograms: { readonly [category in Category]: Mass } = {
  'Aircon/dehumidifier': estimate(25, ['0111', '0112']),
  'Battery/charger/adapter': estimate(0.3, ['0201']),
  'Decorative or safety lights': estimate(0.5, ['0506']),
  'Desktop computer': estimate(9, ['0302']),
  'Digital compact camera': estimate(0.25, ['0406']),
  'DSLR/video camera': estimate(0.8, ['0406']),
  Fan: estimate(3, ['0106', '0201']),
  'Flat screen': estimate(8, ['0309', '0408']),
  'Hair & beauty item': estimate(0.5, ['0205']),
  'Handheld entertainment device': estimate(0.25, ['0402']),
  Headphones: estimate(0.25, ['0401']),
  'Hi-Fi integrated': estimate(4, ['0403']),
  'Hi-Fi separates': estimate(4, ['0403', '0405']),
  Kettle: estimate(1.2, ['0203']),
  Lamp: estimate(1, ['0506']),
  Laptop: estimate(2, ['0303']),
  'Large home electrical': estimate(45, ['0102', '0104', '0108', '0114']),
  Misc: { kg: null, unu: [], source: 'author’s estimate: none, since it may be anything' },
  Mobile: estimate(0.15, ['0306']),
  'Musical instrument': estimate(5, ['0403']),
  'Paper shredder': estimate(4, []),
  'PC accessory': estimate(0.4, ['0301']),
  'Portable radio': estimate(1, ['0402', '0403']),
  'Power tool': estimate(2, ['0601']),
  'Printer/scanner': estimate(8, ['0304']),
  Projector: estimate(3, ['0404']),
  'Sewing machine': estimate(7, []),
  'Small home electrical': estimate(1, ['0201']),
  'Small kitchen item': estimate(2, ['0202']),
  Tablet: estimate(0.5, ['0303']),
  Toaster: estimate(1.5, ['0202']),
  Toy: estimate(0.5, ['0701']),
  'TV and gaming-related accessories': estimate(0.8, ['0401', '0404']),
  Vacuum: estimate(5, ['0204']),
  'Watch/clock': estimate(0.3, ['0201']),
  'Coffee maker': estimate(3, ['0203']),
  'Food processor': estimate(3, ['0202']),
  'Games console': estimate(2, ['0702']),
  'Hair dryer': estimate(0.6, ['0205']),
  Iron: estimate(1.2, ['0201']),
};
