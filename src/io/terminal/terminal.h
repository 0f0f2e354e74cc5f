/* The terminal of a live session: keys as they are pressed, its size, signals; put back as it was on every way out.
 *
 * One a process, as there is one terminal: what a signal handler has to put back stands in this file. */
#ifndef IO_TERMINAL_TERMINAL_H
#define IO_TERMINAL_TERMINAL_H

#include "base/error.h"

#include <stdbool.h>
#include <stddef.h>

struct terminal_size {
  int columns, rows, width_px, height_px; // pixels: 0 where it does not tell
};

/* Whether keys can be read one by one, and whether stdout shows more than lines. */
bool terminal_has_keys(void);
bool terminal_has_screen(void);

/* Catches what ends, stops or resizes; terminal_release() gives the handlers back. Signals that are ignored stay ignored. */
void terminal_catch(void);
void terminal_release(void);

/* Takes keys without echo; screen: also a page of its own, which the one before comes back from. STATUS_IO if the terminal does not let. */
MUST_CHECK enum status terminal_take(bool screen, struct error *error);

/* Puts back what terminal_take() changed; does nothing if nothing is taken. */
void terminal_give_back(void);

/* 80 by 24 where it does not tell. */
struct terminal_size terminal_size_now(void);

/* Whether it answers that it shows sixel graphics; asks it and waits up to a fifth of a second. */
bool terminal_shows_sixel(void);

/* Waits up to wait_s for keys, and returns how many there are, cursor keys and the like left out; -1 at the end of stdin, 0 also after
 * a signal. */
int terminal_read(double wait_s, char *keys, size_t size);

/* What has come since it was asked last: a signal that ends (its number, 0 for none), a new size, a stop that is to be done now, a
 * continuation. */
int terminal_ended_by(void);
bool terminal_resized(void);
bool terminal_to_stop(void);
bool terminal_continued(void);

/* Stops as the stop key wants it: gives the terminal back first, and takes it again when it goes on. */
MUST_CHECK enum status terminal_stop(struct error *error);
/* Takes it again, as after a continuation that nobody announced. */
MUST_CHECK enum status terminal_take_again(struct error *error);

#endif
