/* The layout scripts of plots/, put into the program at build time by plots/embed.cmake. */
#ifndef IO_PICTURE_PLOTS_EMBEDDED_H
#define IO_PICTURE_PLOTS_EMBEDDED_H

#include <stddef.h>

struct plot_layout {
  const char *name;           // the file's stem
  const unsigned char *bytes; // gnuplot script, UTF-8, no null at the end
  size_t size;
};
extern const struct plot_layout plots_embedded[];
extern const size_t plots_embedded_count;

#endif
