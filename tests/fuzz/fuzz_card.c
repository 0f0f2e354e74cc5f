/* Vehicle cards before any bytes, as a file and as words. What must hold: a number that is taken is in the range of its row. */
#include "io/config/card_file.h"

#include <stdlib.h>
#include <string.h>

#include "held_file.h"

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size);

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size) {
  char path[HELD_FILE_PATH_SIZE];
  struct error error;
  const int file = held_file_open(bytes, size, path);
  error_clear(&error);
  static struct card card;
  card_init(&card);
  if (card_file_read(path, &card, &error) != STATUS_OK)
    assert(error.text[0] != 0);
  else
    for (int i = 0; i < CARD_COUNT; i++)
      assert(!card_has(&card, (enum card_item)i) || card_rows[i].choices ||
             (card.values[i] >= card_rows[i].least && card.values[i] <= card_rows[i].most));
  char *words = malloc(size + 1);
  assert(words);
  memcpy(words, bytes, size);
  words[size] = 0;
  error_clear(&error);
  card_init(&card);
  if (strchr(words, (int)61) && card_file_read_or_words(words, &card, &error) != STATUS_OK) assert(error.text[0] != 0);
  free(words);
  close(file);
  return 0;
}
