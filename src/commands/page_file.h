/* The live bench as a file that was built (src/page): for the command `page`, and for documents that hold it, as lessons do.
 *
 * A document holds the page once, and a live bench wherever one is wanted:
 *
 *   char *page = page_file_read();
 *   page_file_put_bench(&(struct page_file_bench){.record = record, .show = "gap,time,do", .title = "A film"}, stream); // at its place, and so on
 *   page_file_put_once(page, stream);                                                                      // before </body>
 *
 * docs/page.md says what a document's own policy must allow. */
#ifndef COMMANDS_PAGE_FILE_H
#define COMMANDS_PAGE_FILE_H

#include "base/error.h"

#include <stdbool.h>
#include <stdio.h>

extern const char page_file_name[];

/* What its script must allow, for a document's Content-Security-Policy. */
#define PAGE_FILE_POLICY \
  "default-src 'none'; script-src 'unsafe-inline' 'wasm-unsafe-eval' blob:; style-src 'unsafe-inline'; img-src blob: data:; " \
  "worker-src blob:; connect-src 'none'; form-action 'none'; base-uri 'none'"

/* The page as it was built here or installed; the caller frees it. NULL if there is none. */
char *page_file_read(void);

/* The page, opening on a record; NULL: as it is. */
void page_file_put(const char *page, const char *record, FILE *to);

/* A live bench in a document. */
struct page_file_bench {
  const char *title;  // below it, and its name for whoever cannot see it
  const char *record; // text of a record (docs/records.md) of a shipped engine
  double at_s;        // opens then, up to 3600; the record's later actions are played as time passes
  const char *show;   // sections that it has, "gap,why,time,do,codes,tests,readings,files"; NULL: all
  double speed;       // times real time; 0: 1
  bool standing;      // opens paused
  bool blind;         // shows what instruments show, and nothing else
};
void page_file_put_bench(const struct page_file_bench *bench, FILE *to);

/* What makes the benches of a document live: once, after them. */
void page_file_put_once(const char *page, FILE *to);

#endif
