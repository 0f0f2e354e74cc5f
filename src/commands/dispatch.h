/* From a command line to the command that it names. */
#ifndef COMMANDS_DISPATCH_H
#define COMMANDS_DISPATCH_H

#include "base/error.h"

/* The whole program: parses, runs, and says how it went. Results go to stdout. */
MUST_CHECK enum status dispatch_main(int argc, char **argv, struct error *error);

#endif
