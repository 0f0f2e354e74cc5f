/* What a live session shows on a terminal: some lines of text, and below them the chart. */
#ifndef COMMANDS_LIVE_SCREEN_H
#define COMMANDS_LIVE_SCREEN_H

#include "analysis/live/live_session.h"
#include "io/picture/strip_chart.h"
#include "io/terminal/terminal.h"

#include <stdbool.h>

/* Lines that the text takes of so many, the chart having the rest. */
int live_screen_text_rows(const struct terminal_size *size);

/* How large a chart can be below the text; false if there is no room for one. */
bool live_screen_chart_size(const struct terminal_size *size, struct strip_chart_size *chart);

/* Writes the text, and the frame below it unless it is NULL; clear: nothing of what stands there is kept. False if stdout does not take it. */
bool live_screen_draw(const struct live_session *session, const struct strip_chart *chart, const struct terminal_size *size,
                      const char *frame, size_t frame_size, bool clear);

/* Speed, opening, air and codes in one line that can be read aloud; and the reasons in another. */
void live_screen_put_line(const struct live_session *session);
void live_screen_put_reasons(const struct live_session *session);

/* What is said about a key, a line each; nothing if nothing is. */
void live_screen_put_said(const struct live_session *session);

/* The keys, a line each. */
void live_screen_put_keys(void);

/* Events from *told on, a line each; *told is then how many there are. */
void live_screen_put_events(const struct live_session *session, size_t *told);

#endif
