/* The CSV of a sweep, written row by row so that an interrupted one goes on where it was.
 *
 *   # bladegap sweep 0123456789abcdef rows 0 to 250 of 1000 sum fedcba9876543210
 *   film_um,altitude_m,outcome,...
 *
 * The first line has what was asked, as a number; which rows these are; and the sum over all that follows it.
 * While it grows it is called NAME.partial, and its sum is brought up to date with every piece. After an end of any kind (a full
 * disk, a signal, a power cut) the rows that the sum covers still count; what does not fit its sum is computed anew. The last of
 * them is computed again and must come out the same: rows of a program that has changed since are not mixed with new ones. A
 * complete file of the same question is likewise taken as it stands, but refused if somebody changed it. */
#ifndef IO_REPORT_SWEEP_FILE_H
#define IO_REPORT_SWEEP_FILE_H

#include "analysis/sweep/sweep.h"
#include "io/format/output_file.h"

#include <stdint.h>
#include <stdio.h>

/* What the first line says. */
struct sweep_file_head {
  uint64_t fingerprint;
  size_t first, end, total; // rows [first, end) of all
};

/* A growing file. */
struct sweep_file {
  const struct sweep *sweep;
  struct sweep_file_head head;
  FILE *stream;
  bool complete;    // was there, whole, under its final name
  size_t row_count; // whole rows so far
  long last_at;     // where the last of them begins
  uint64_t sum;     // over the line of names and those rows
  char path[OUTPUT_FILE_PATH_SIZE];
  char partial[OUTPUT_FILE_PATH_SIZE];
};

/* FNV-1a, 64 bits (G. Fowler, L. C. Noll, P. Vo; IETF draft eastlake-fnv): not against malice. Begin with
 * SWEEP_FILE_HASH_BEGIN. */
#define SWEEP_FILE_HASH_BEGIN 14695981039346656037u
uint64_t sweep_file_hash(uint64_t hash, const void *bytes, size_t size);
/* The bytes of a file join the hash. */
MUST_CHECK enum status sweep_file_hash_file(uint64_t *hash, const char *path, struct error *error);

/* Opens what there is or begins. STATUS_CANNOT_CREATE if another process is at it, or if an unfinished sweep of another
 * question is in the way; STATUS_BAD_DATA if a finished one was changed. sweep_file_close() after success. */
MUST_CHECK enum status sweep_file_open(struct sweep_file *file, const char *path, const struct sweep *sweep,
                                       const struct sweep_file_head *head, struct error *error);

/* Whether the last row there is equals this one; only if row_count > 0. */
MUST_CHECK enum status sweep_file_agrees(const struct sweep_file *file, const double *row, bool *agrees, struct error *error);

/* Forgets all rows. */
MUST_CHECK enum status sweep_file_restart(struct sweep_file *file, struct error *error);

/* Adds rows and hands them to the system; several workers turn them into text. STATUS_IO says how to go on. */
MUST_CHECK enum status sweep_file_append(struct sweep_file *file, const struct for_each *for_each, const double *values,
                                         size_t rows, struct error *error);

/* Gives a file with all its rows its final name. */
MUST_CHECK enum status sweep_file_finish(struct sweep_file *file, struct error *error);

/* Closes; what is unfinished stays. */
void sweep_file_close(struct sweep_file *file);

/* A finished file in memory. */
struct sweep_table {
  struct sweep_file_head head;
  char *names; // the header line, commas turned into ends of text; owned
  size_t column_count, row_count;
  double *values; // row after row; an empty cell is NaN; owned
};

/* Several workers read it. STATUS_BAD_DATA with file:line for what is no sweep, not a whole one, or changed.
 * sweep_file_read_forget() in any case. */
MUST_CHECK enum status sweep_file_read(const char *path, const struct for_each *for_each, struct sweep_table *table,
                                       struct error *error);
void sweep_file_read_forget(struct sweep_table *table);

/* Puts the parts of one sweep together, in the order of their rows, whatever the order of the paths. STATUS_BAD_DATA for parts
 * of different sweeps, missing or double rows, all of that in one go; for a part that was changed. */
MUST_CHECK enum status sweep_file_read_merge(char *const *paths, size_t count, const char *out_path, size_t *row_count,
                                             struct error *error);

#endif
