#include "io/config/case_file.h"

#include "io/format/input_file.h"
#include "io/format/output_file.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>

enum status case_file_read(const char *path, struct practice_record *record, struct error *error) {
  FILE *stream = fopen(path, "rb");
  if (!stream) return error_set(error, STATUS_NO_INPUT, "%s: %s", path, strerror(errno));
  char *text = malloc(PRACTICE_TEXT_MOST);
  enum status status = text ? STATUS_OK : error_set(error, STATUS_NO_MEMORY, "out of memory for %s", path);
  const size_t size = text ? input_file_fill(stream, text, PRACTICE_TEXT_MOST) : 0;
  if (ferror(stream)) status = error_set(error, STATUS_IO, "%s: it cannot be read", path);
  fclose(stream);
  if (status == STATUS_OK) status = practice_text_read(path, text, size, record, error);
  free(text);
  return status;
}

enum status case_file_write(const struct practice_record *record, const char *path, struct error *error) {
  struct output_file file = {0};
  char *text = malloc(PRACTICE_TEXT_MOST);
  if (!text) return error_set(error, STATUS_NO_MEMORY, "out of memory for %s", path);
  const size_t size = practice_text_write(record, text);
  enum status status = output_file_open(&file, path, error);
  if (status == STATUS_OK) {
    (void)fwrite(text, 1, size, file.stream); // commit tells
    status = output_file_commit(&file, error);
  }
  output_file_discard(&file);
  free(text);
  return status;
}
