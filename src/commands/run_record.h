/* What `run --record` writes: record.txt, and engine.cfg beside it where values of the engine were changed, which a record cannot say. */
#ifndef COMMANDS_RUN_RECORD_H
#define COMMANDS_RUN_RECORD_H

#include "car/engine.h"
#include "io/format/output_file.h"
#include "sim/scenario.h"

struct run_record {
  const char *folder;
  const struct scenario *scenario; // as played, with its solver
  const struct engine *of_file;    // the engine as the scenario's file has it
  const struct engine *engine;     // as it ran
};

enum { RUN_RECORD_FILE_MAX = 2 };

/* Writes the files and names them in files[]; *count says how many. STATUS_CANNOT_CREATE, STATUS_IO, STATUS_NO_MEMORY. */
MUST_CHECK enum status run_record_write(const struct run_record *record, char files[RUN_RECORD_FILE_MAX][OUTPUT_FILE_PATH_SIZE],
                                        size_t *count, struct error *error);

#endif
