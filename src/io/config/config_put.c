#include "io/config/config_put.h"

#include "sim/record_text.h"

#include <string.h>

void config_put_real(const struct field *field, double si, FILE *stream) {
  char number[RECORD_TEXT_NUMBER_SIZE];
  record_text_shortest(field, si, number);
  const int mantissa = (int)strcspn(number, "e");
  fprintf(stream, "%.*s%s%s", mantissa, number, strchr(number, '.') ? "" : ".0", number + mantissa);
}

void config_put_letter(int byte, FILE *stream) {
  if (byte == '"' || byte == '\\') fputc('\\', stream);
  fputc(byte, stream);
}

void config_put_text(const char *text, FILE *stream) {
  fputc('"', stream);
  for (; *text; text++) config_put_letter(*text, stream);
  fputc('"', stream);
}
