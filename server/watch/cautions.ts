/** What can hurt a hand or a house, said where the work is proposed. Common practice; local codes come first. */
export const cautions = {
  strings:
    'The strings pull with 15 to 20 tonnes in all: raise pitch in passes, lower a rusted string a little first, and keep eyes and hands out of the line of a string that may break.',
  mains:
    'Unplug anything electrical in or near the piano before you fill or move it; then plug it in again and check that it runs. Leave damaged cables and all wiring to a licensed electrician, as local codes ask.',
  frost: 'In frost raise humidity only as far as windows and outer walls stay dry, often 35 to 40 %.',
  mould:
    'Mould is bad for lungs: wear a mask and gloves, do not brush it dry, and leave more than a small spot to people trained for it.',
  heavy:
    'Lids, actions and the piano itself are heavy: prop, lift and move with a second person, or leave moving to piano movers.',
} as const;
