/* The sections of docs/validation.md, a file each. */
#ifndef REFERENCE_VALIDATION_SECTIONS_H
#define REFERENCE_VALIDATION_SECTIONS_H

#include "reference/validation/validation.h"

extern const struct validation_section section_gas, section_throttle, section_film, section_charge, section_spark,
    section_friction, section_idle, section_scan, section_real_idle, section_real_drive;

#endif
