/* Cards of cars before any bytes, as a file and as words. What must hold: a refusal has its sentence; a card that was taken is within its
 * ranges, and is written and read again as the same. */
#include "io/config/card_file.h"
#include "support/file_of_bytes.h"

#include <assert.h>
#include <math.h>
#include <string.h>
#include <unistd.h>

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size);

static void check_taken(const struct card *card) {
  char path[FILE_OF_BYTES_PATH_SIZE];
  static struct card again;
  struct error error;
  error_clear(&error);
  file_of_bytes((const uint8_t *)"", 0, path);
  FILE *stream = fopen(path, "w");
  assert(stream && card_file_write(card, stream, &error) == STATUS_OK);
  assert(fclose(stream) == 0);
  const enum status status = card_file_read(path, &again, &error);
  assert(status == STATUS_OK);
  for (int i = 0; i < CARD_COUNT; i++) {
    assert(card_has(card, (enum card_item)i) == card_has(&again, (enum card_item)i));
    if (card_has(card, (enum card_item)i)) assert(fabs(card->values[i] - again.values[i]) <= 1e-4 * fabs(card->values[i]) + 1e-9);
  }
  unlink(path);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size) {
  static struct card card;
  char path[FILE_OF_BYTES_PATH_SIZE], words[4096];
  struct error error;
  error_clear(&error);
  file_of_bytes(bytes, size, path);
  if (card_file_read(path, &card, &error) == STATUS_OK)
    check_taken(&card);
  else
    assert(error.text[0] != '\0');
  unlink(path);
  if (size + 1 > sizeof words || memchr(bytes, '/', size)) return 0; // no path on this machine
  memcpy(words, bytes, size);
  words[size] = '\0';
  if (!strchr(words, '=')) return 0; // a file's name
  error_clear(&error);
  if (card_file_read_or_words(words, &card, &error) == STATUS_OK)
    check_taken(&card);
  else
    assert(error.text[0] != '\0');
  return 0;
}
