#include "commands/card_ask.h"

#include <string.h>

enum { LINE_SIZE = 120 };

static void print_question(const struct card_row *row, FILE *questions) {
  fprintf(questions, "%s\n", row->question);
  if (row->choices) {
    fprintf(questions, "  %s", row->key);
    for (size_t i = 0; row->choices[i]; i++) fprintf(questions, "%s%s", i ? " | " : " (", row->choices[i]);
    fprintf(questions, "): ");
  } else {
    fprintf(questions, "  %s (%g to %g%s%s): ", row->key, row->least, row->most, row->unit[0] ? " " : "", row->unit);
  }
  fflush(questions);
}

/* A line without its end; false at the end of the input. What does not fit is passed over. */
static bool read_line(FILE *answers, char line[LINE_SIZE]) {
  if (!fgets(line, LINE_SIZE, answers)) return false;
  const size_t length = strcspn(line, "\r\n");
  if (line[length] == '\0' && length == LINE_SIZE - 1)
    for (int c = fgetc(answers); c != EOF && c != '\n';) c = fgetc(answers);
  line[length] = '\0';
  return true;
}

void card_ask(FILE *answers, FILE *questions, struct card *card) {
  char line[LINE_SIZE];
  fprintf(questions, "Press Enter to leave open what you do not know.\n");
  for (int i = 0; i < CARD_COUNT; i++) {
    if (card_has(card, (enum card_item)i)) continue;
    for (bool asking = true; asking;) {
      struct error error;
      error_clear(&error);
      print_question(&card_rows[i], questions);
      if (!read_line(answers, line)) {
        fprintf(questions, "\n");
        return;
      }
      asking = card_set(card, "answer", card_rows[i].key, line, "", &error) != STATUS_OK;
      if (asking) fprintf(questions, "  %s\n", error.text);
    }
  }
}
