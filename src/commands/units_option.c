#include "commands/units_option.h"

const char *const units_option_names[] = {"si", "us", NULL};
