/* `bladegap merge PART ...`: joins what `sweep --shard` computed. */
#include "commands/command.h"
#include "io/format/json.h"
#include "io/report/sweep_file.h"

#include <stdio.h>

static const struct option_row merge_options[] = {
    OPTION_ROW_TEXT("out", "FILE", "file for the whole sweep; required"),
};

static enum status run(const struct command_line *line, struct error *error) {
  if (!options_given(line, "out"))
    return error_set(error, STATUS_USAGE, "merge: give --out FILE, as in --out out/sweep-four-16/sweep.csv");
  const char *path = options_text(line, "out", "");
  size_t rows = 0;
  enum status status = sweep_file_read_merge(line->operands, line->operand_count, path, &rows, error);
  if (status != STATUS_OK || (line->quiet && !line->json)) return status;
  if (!line->json) {
    printf("%zu rows of %zu files\n%s\n", rows, line->operand_count, path);
    return STATUS_OK;
  }
  struct json *json = json_create();
  json_put_count(json, "rows", (long long)rows);
  json_open_array(json, "files");
  json_put_text(json, NULL, path);
  json_close(json);
  status = json_print(json, stdout, error);
  json_destroy(json);
  return status;
}

const struct command command_merge = {
    .name = "merge",
    .text = "joins the parts of a sweep that was split",
    .operands = "PART.csv ...",
    .operand_least = 1,
    .operand_most = COMMAND_OPERANDS_ANY,
    .options = merge_options,
    .option_count = ARRAY_COUNT(merge_options),
    .run = run,
    .details =
        "The file is the same, byte for byte, as that of the whole sweep in one go. The sweep's command without --shard then "
        "finds it and draws it.\n\n  bladegap merge out/sweep-four-16/sweep-*-of-4.csv --out out/sweep-four-16/sweep.csv",
};
