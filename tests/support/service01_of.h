/* The row of service 01 with an identifier, NULL if there is none. */
#ifndef TESTS_SUPPORT_SERVICE01_OF_H
#define TESTS_SUPPORT_SERVICE01_OF_H

#include "io/scantool/service01.h"

const struct service01_row *service01_of(unsigned identifier);

#endif
