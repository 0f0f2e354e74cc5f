/* Files that are whole or not there.
 *
 * A result is written to `NAME.part-PID` beside its final place and renamed when it is complete, so nobody
 * ever finds half a file under the final name: not after a full disk, not after a kill. What is not an
 * ordinary file (/dev/full, /dev/stdout, a named pipe) is written in place.
 *
 * Every error of every write is kept, with its reason, until the commit reports it. */
#ifndef IO_FORMAT_OUTPUT_FILE_H
#define IO_FORMAT_OUTPUT_FILE_H

#include "base/error.h"

#include <stdbool.h>
#include <stdio.h>

enum {
  OUTPUT_FILE_PATH_SIZE = 4096, // PATH_MAX of Linux
  OUTPUT_FILE_OPEN_MAX = 32,    // files open at a time in the whole process
};

/* Not to be copied or moved while open: the stream points into it. */
struct output_file {
  FILE *stream; // write here; NULL while not open
  bool durable; // set it before the commit: the data is forced to the disk first (fsync)
  bool direct;  // written in place
  int descriptor;
  int failure;                      // errno of the first write that failed, 0 for none
  int slot;                         // in the list that the signal handler clears up
  char name[OUTPUT_FILE_PATH_SIZE]; // as the caller gave it, for messages
  char path[OUTPUT_FILE_PATH_SIZE]; // the final place, symbolic links followed
  char part[OUTPUT_FILE_PATH_SIZE]; // where it is written meanwhile
};

/* Opens a file for writing. STATUS_CANNOT_CREATE with the reason if that is not possible. */
MUST_CHECK enum status output_file_open(struct output_file *file, const char *path, struct error *error);

/* Flushes, closes and gives the file its name; STATUS_IO if any write failed, and then nothing stays
 * behind. */
MUST_CHECK enum status output_file_commit(struct output_file *file, struct error *error);

/* Closes and removes what was written; does nothing to a file that is not open. A zeroed struct is not
 * open. */
void output_file_discard(struct output_file *file);

/* After SIGINT, SIGTERM, SIGHUP or SIGPIPE the parts are removed, then the signal ends the process as
 * usual. A signal that is ignored (nohup) stays ignored. Called once, by main. */
void output_file_catch_signals(void);

/* Makes a folder, with those above it, unless it is there; STATUS_CANNOT_CREATE if it cannot be made or
 * written to. */
MUST_CHECK enum status output_file_make_folder(const char *path, struct error *error);

/* Makes a folder likewise and keeps it for this process until it ends or gives it back, so that the files of two do not mix;
 * the lock leaves nothing in it. STATUS_CANNOT_CREATE if another process keeps it. A file system that knows no locks lets
 * everybody through. */
MUST_CHECK enum status output_file_take_folder(const char *path, int *lock, struct error *error);
void output_file_give_back_folder(int lock); // 0 or -1: nothing was locked

/* Flushes and closes stdout; STATUS_IO if anything written to it was lost. Called once, by main, at the
 * very end. */
MUST_CHECK enum status output_file_close_stdout(struct error *error);

#endif
