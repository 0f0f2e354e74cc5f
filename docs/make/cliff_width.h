/* The part of make_cliff that compares engines. */
#ifndef MAKE_CLIFF_WIDTH_H
#define MAKE_CLIFF_WIDTH_H

void cliff_width_table(void); // Markdown
void cliff_width_data(void);  // for docs/make/cliff.gp: a block an engine

#endif
