/* The program's entry: runs a command, prints its error, and answers with its exit code. */
#include "commands/dispatch.h"
#include "io/format/output_file.h"

#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/* A descriptor that is closed when we start would be given to the first file we open, and results written
 * into that. So each gets /dev/null, in the direction that makes its use fail. */
static void occupy_standard_descriptors(void) {
  for (int fd = STDIN_FILENO; fd <= STDERR_FILENO; fd++)
    if (fcntl(fd, F_GETFD) == -1 && errno == EBADF && open("/dev/null", fd == STDIN_FILENO ? O_WRONLY : O_RDONLY) == -1) return;
}

/* A pipe whose reader has gone is no news to anybody: the shell's user closed it. */
static bool is_pipe(FILE *stream) {
  struct stat about;
  return fstat(fileno(stream), &about) == 0 && S_ISFIFO(about.st_mode);
}

/* Results that did not reach stdout are an error, however well the command went. */
static enum status close_stdout(enum status status, struct error *error) {
  const bool pipe = is_pipe(stdout);
  struct error closing;
  error_clear(&closing);
  if (output_file_close_stdout(&closing) == STATUS_OK) return status;
  if (status != STATUS_OK && status != STATUS_IO) return status; // its own message tells more
  if (pipe) {
    error_clear(error);
  } else {
    *error = closing;
  }
  return STATUS_IO;
}

static void print_error(const struct error *error) {
  size_t shown = 0;
  for (const char *at = error->text; *at;) {
    const size_t size = strcspn(at, "\n");
    fprintf(stderr, "bladegap: %.*s\n", (int)size, at);
    at += size + (at[size] == '\n');
    shown++;
  }
  if (shown < error->line_count) fprintf(stderr, "bladegap: and %zu more\n", error->line_count - shown);
}

int main(int argc, char **argv) {
  occupy_standard_descriptors();
  signal(SIGPIPE, SIG_IGN); // a closed pipe, ours or gnuplot's, is met as a failed write
  signal(SIGXFSZ, SIG_IGN); // so is a limit on the size of files
  output_file_catch_signals();
  struct error error;
  error_clear(&error);
  enum status status = dispatch_main(argc, argv, &error);
  status = close_stdout(status, &error);
  print_error(&error);
  return status_exit_code(status);
}
