#include "commands/live_screen.h"

#include "analysis/live/live_words.h"

#include <stdio.h>
#include <string.h>

enum { NARROW = 60, TEXT_ROWS = 13, CHART_ROWS_LEAST = 7, CELL_WIDTH_PX = 8, CELL_HEIGHT_PX = 16 };

/* ---- lines of a screen ---- */

/* Lines go to stdout as they come; those beyond the last row are left out. */
struct page {
  int columns, rows, used;
};

/* Bytes of the text's beginning that fit into so many columns, broken at a blank where there is one; UTF-8 counts by letter. */
static size_t fitting(const char *text, int columns) {
  size_t size = 0, at_blank = 0;
  for (int column = 0; text[size] && text[size] != '\n'; column++) {
    if (column == columns) return at_blank ? at_blank : size;
    if (text[size] == ' ') at_blank = size;
    size++;
    while (((unsigned char)text[size] & 0xC0) == 0x80) size++;
  }
  return size;
}

static void put_row(struct page *page, const char *text, size_t size) {
  if (page->used >= page->rows) return;
  printf("\x1b[%d;1H", ++page->used);
  for (size_t i = 0; i < size; i++) putchar((unsigned char)text[i] < 0x20 || text[i] == 0x7F ? ' ' : text[i]);
  fputs("\x1b[K", stdout);
}

/* A text in as many rows as it needs, up to most; line breaks are kept. */
static void put_text(struct page *page, const char *text, int most) {
  if (!*text) put_row(page, "", 0);
  for (int row = 0; *text && row < most; row++) {
    const size_t size = fitting(text, page->columns);
    put_row(page, text, size);
    text += size;
    while (*text == ' ' || *text == '\n') text++;
  }
}

static void fill(struct page *page, int row) {
  while (page->used < row && page->used < page->rows) put_row(page, "", 0);
}

/* ---- what stands in them ---- */

static void put_keys_page(struct page *page) {
  const int columns = page->rows <= (int)live_key_count && page->columns >= 2 * 36 ? 2 : 1;
  const size_t half = (live_key_count + (size_t)columns - 1) / (size_t)columns;
  char name[2], row[512];
  put_text(page, "Keys; any key goes back", 1);
  for (size_t i = 0; i < half; i++) {
    size_t used = 0;
    for (size_t k = i; k < live_key_count; k += half) {
      const int width = k + half < live_key_count ? page->columns / columns - 8 : 0;
      used += (size_t)snprintf(row + used, sizeof row - used, "%-6s %-*.*s", live_key_name(live_key_rows[k].key, name), width,
                               page->columns / columns - 8, live_key_rows[k].text);
    }
    put_text(page, row, 1);
  }
}

static void put_last_event(const struct live_session *session, struct page *page) {
  const struct recording *events = &session->bench->events;
  char text[LIVE_WORDS_SIZE] = "";
  if (events->event_count > 0) live_words_event(&events->events[events->event_count - 1], sizeof text, text);
  put_text(page, text, 1);
}

static void put_said(const struct live_session *session, struct page *page, int most) {
  char typed[LIVE_SESSION_TYPED_SIZE + 16];
  snprintf(typed, sizeof typed, "action: %s_", session->typed);
  put_text(page, session->typing ? typed : session->said, most);
}

static void put_brief_page(const struct live_session *session, struct page *page) {
  char text[LIVE_WORDS_SIZE];
  if (session->pending_count > 0) {
    put_text(page, session->said, page->rows);
    return;
  }
  live_words_time(session, sizeof text, text);
  put_text(page, text, 1);
  if (session->said[0] || session->typing) put_said(session, page, page->rows > 6 ? 2 : 1);
  live_words_numbers(session, true, sizeof text, text);
  put_text(page, text, 3);
  live_words_codes(session, sizeof text, text);
  put_text(page, text, 2);
  live_words_reasons(session, sizeof text, text);
  put_text(page, text, page->rows);
}

static void put_page(const struct live_session *session, const struct strip_chart *chart, struct page *page) {
  char text[LIVE_WORDS_SIZE], head[LIVE_WORDS_SIZE + SCENARIO_TEXT_SIZE + 8];
  live_words_time(session, sizeof text, text);
  snprintf(head, sizeof head, "%s   %s", text, session->bench->scenario.title);
  put_text(page, head, 1);
  live_words_numbers(session, false, sizeof text, text);
  put_text(page, text, 2);
  live_words_codes(session, sizeof text, text);
  put_text(page, text, 1);
  live_words_reasons(session, sizeof text, text);
  put_text(page, text, page->rows - page->used - 3); // the last event, what is said, the keys
  put_last_event(session, page);
  if (session->pending_count > 0)
    put_said(session, page, page->rows - page->used);
  else if (chart->said[0] && !session->said[0] && !session->typing)
    put_text(page, chart->said, page->rows - page->used - 1);
  else
    put_said(session, page, page->rows - page->used - 1);
  fill(page, page->rows - 1);
  put_text(page, "? keys   q end   space stop   + - speed   f F film   p P pedal   c clean   = action", 1);
}

/* ---- the screen ---- */

static bool is_narrow(const struct terminal_size *size) { return size->columns < NARROW || size->rows < TEXT_ROWS; }

int live_screen_text_rows(const struct terminal_size *size) {
  return is_narrow(size) || size->rows < TEXT_ROWS + CHART_ROWS_LEAST ? size->rows : TEXT_ROWS;
}

bool live_screen_chart_size(const struct terminal_size *size, struct strip_chart_size *chart) {
  const int rows = size->rows - live_screen_text_rows(size);
  if (rows < CHART_ROWS_LEAST) return false;
  const int cell_width = size->width_px > 0 ? size->width_px / size->columns : CELL_WIDTH_PX;
  const int cell_height = size->height_px > 0 ? size->height_px / size->rows : CELL_HEIGHT_PX;
  // One row less for pixels: a picture that touches the last row makes some terminals scroll.
  *chart = (struct strip_chart_size){size->columns, rows, cell_width * size->columns, cell_height * (rows - 1)};
  return true;
}

/* A frame of letters row by row, one of pixels as it is. */
static void put_frame(enum strip_chart_kind kind, const struct terminal_size *size, const char *frame, size_t frame_size) {
  const int top = live_screen_text_rows(size);
  if (kind == STRIP_CHART_sixel) {
    printf("\x1b[%d;1H", top + 1);
    fwrite(frame, 1, frame_size, stdout);
    return;
  }
  struct page page = {size->columns, size->rows, top};
  while (*frame) {
    const size_t length = strcspn(frame, "\n");
    const char *row = *frame == '\f' ? frame + 1 : frame;
    const size_t skipped = (size_t)(row - frame);
    if (length > skipped) put_row(&page, row, length - skipped);
    frame += length + (frame[length] == '\n');
  }
  fill(&page, size->rows);
}

bool live_screen_draw(const struct live_session *session, const struct strip_chart *chart, const struct terminal_size *size,
                      const char *frame, size_t frame_size, bool clear) {
  const bool whole_page = session->help || session->pending_count > 0;
  struct page page = {size->columns, whole_page ? size->rows : live_screen_text_rows(size), 0};
  if (clear) fputs("\x1b[2J", stdout);
  if (session->help)
    put_keys_page(&page);
  else if (is_narrow(size))
    put_brief_page(session, &page);
  else
    put_page(session, chart, &page);
  fill(&page, page.rows);
  if (frame && !whole_page) put_frame(chart->kind, size, frame, frame_size);
  return fflush(stdout) == 0 && !ferror(stdout);
}

/* ---- lines to be read aloud ---- */

void live_screen_put_line(const struct live_session *session) {
  char time[LIVE_WORDS_SIZE], numbers[LIVE_WORDS_SIZE], codes[LIVE_WORDS_SIZE];
  live_words_time(session, sizeof time, time);
  live_words_numbers(session, true, sizeof numbers, numbers);
  live_words_codes(session, sizeof codes, codes);
  printf("%s: %s. %s\n", time, numbers, codes);
}

void live_screen_put_reasons(const struct live_session *session) {
  char reasons[LIVE_WORDS_SIZE];
  live_words_reasons(session, sizeof reasons, reasons);
  printf("%s\n", reasons);
}

void live_screen_put_said(const struct live_session *session) {
  if (session->said[0]) printf("%s\n", session->said);
}

void live_screen_put_keys(void) {
  char name[2];
  for (size_t i = 0; i < live_key_count; i++)
    printf("%s: %s\n", live_key_name(live_key_rows[i].key, name), live_key_rows[i].text);
}

void live_screen_put_events(const struct live_session *session, size_t *told) {
  const struct recording *events = &session->bench->events;
  char text[LIVE_WORDS_SIZE];
  for (; *told < events->event_count; (*told)++) {
    live_words_event(&events->events[*told], sizeof text, text);
    printf("%s\n", text);
  }
}
