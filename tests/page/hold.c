/* page_hold OUT.html: a document with two live benches, made as the program makes lessons; for tests/page/browser.js. */
#include "commands/page_file.h"

#include <stdlib.h>

int main(int argc, char **argv) {
  static const char grown[] = "bladegap-record 1 four-16\nstart state settled\n2 film_um 40 20\n60 air_conditioning 1\n90 end\n";
  static const char clean[] =
      "bladegap-record 1 four-18-cable\nstart state settled\nstart bypass_film_um 20\n9 note It's \"20\" & <b>more</b>\n10 end\n";
  FILE *to = argc == 2 ? fopen(argv[1], "w") : NULL;
  char *page = page_file_read();
  if (!to || !page) return EXIT_FAILURE;
  fputs("<!DOCTYPE html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"><title>held</title>\n"
        "<meta http-equiv=\"Content-Security-Policy\" content=\"" PAGE_FILE_POLICY "\">\n"
        "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"></head>\n<body><h1>A lesson</h1>\n",
        to);
  page_file_put_bench(
      &(struct page_file_bench){.title = "A film grows", .record = grown, .at_s = 30, .show = "gap,time", .standing = true}, to);
  fputs("<p style=\"height: 4000px\">Much to read.</p>\n", to);
  page_file_put_bench(&(struct page_file_bench){.title = "<Cable> & hidden", .record = clean, .speed = 10, .blind = true}, to);
  page_file_put_once(page, to);
  fputs("</body></html>\n", to);
  free(page);
  return fclose(to) == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
