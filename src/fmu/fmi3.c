/* FMI 3.0.2, co-simulation: each call to what it means of a component. */
#include "fmu/fmi3_api.h"

#include "fmu/component.h"

#include <stdlib.h>
#include <string.h>

/* A function cannot be kept behind a pointer to an object: it stands in a block of its own. */
struct logger {
  fmi3LogMessageCallback log;
};

static void pass_on(struct component *component, enum component_status status, const char *category, const char *text) {
  const struct logger *logger = component->logger;
  if (logger && logger->log) logger->log(component->environment, (fmi3Status)status, category, text);
}

const char *fmi3GetVersion(void) { return "3.0"; }

fmi3Status fmi3SetDebugLogging(fmi3Instance c, fmi3Boolean on, size_t count, const fmi3String categories[]) {
  if (!component_may(c, COMPONENT_ANY, "fmi3SetDebugLogging")) return fmi3Error;
  component_log(c, on, count, categories);
  return fmi3OK;
}

/* ---- Life ---- */

fmi3Instance fmi3InstantiateCoSimulation(fmi3String name, fmi3String token, fmi3String resources, fmi3Boolean visible,
                                         fmi3Boolean logging, fmi3Boolean event_mode, fmi3Boolean early_return,
                                         const fmi3ValueReference intermediate[], size_t intermediate_count,
                                         fmi3InstanceEnvironment environment, fmi3LogMessageCallback log,
                                         fmi3IntermediateUpdateCallback update) {
  (void)visible, (void)event_mode, (void)early_return, (void)intermediate, (void)update;
  struct logger *logger = calloc(1, sizeof *logger);
  if (!logger) return NULL;
  logger->log = log;
  if (intermediate_count > 0) { // the description says that there is no intermediate update
    if (log)
      log(environment, fmi3Error, "logStatusError", "variables of an intermediate update are asked for: the unit has none");
    free(logger);
    return NULL;
  }
  struct component *component = component_create(name, token, resources, pass_on, environment, logger, logging);
  if (!component) free(logger);
  return component;
}

void fmi3FreeInstance(fmi3Instance c) {
  struct component *component = c;
  if (component) free(component->logger);
  component_destroy(component);
}

fmi3Status fmi3EnterInitializationMode(fmi3Instance c, fmi3Boolean tolerance_defined, fmi3Float64 tolerance, fmi3Float64 start,
                                       fmi3Boolean stop_defined, fmi3Float64 stop) {
  (void)tolerance_defined, (void)tolerance; // its steps are of one size
  if (!component_may(c, COMPONENT_BEFORE, "fmi3EnterInitializationMode")) return fmi3Error;
  const enum component_status status = component_set_up(c, start, stop_defined, stop);
  if (status == COMPONENT_OK) ((struct component *)c)->phase = COMPONENT_INITIALIZING;
  return (fmi3Status)status;
}

fmi3Status fmi3ExitInitializationMode(fmi3Instance c) {
  return component_may(c, COMPONENT_IN_INITIALIZATION, "fmi3ExitInitializationMode") ? (fmi3Status)component_initialize(c)
                                                                                     : fmi3Error;
}

fmi3Status fmi3Terminate(fmi3Instance c) {
  if (!component_may(c, COMPONENT_IN_STEPS, "fmi3Terminate")) return fmi3Error;
  ((struct component *)c)->phase = COMPONENT_TERMINATED;
  return fmi3OK;
}

fmi3Status fmi3Reset(fmi3Instance c) {
  if (!component_may(c, COMPONENT_ANY, "fmi3Reset")) return fmi3Error;
  component_reset(c);
  return fmi3OK;
}

/* ---- Values ---- */

#define VALUES(Name, unit_type) \
  fmi3Status fmi3Get##Name(fmi3Instance c, const fmi3ValueReference references[], size_t count, fmi3##Name values[], \
                           size_t value_count) { \
    if (!component_may(c, COMPONENT_ANY, "fmi3Get" #Name) || value_count != count) return fmi3Error; \
    enum component_status status = COMPONENT_OK; \
    for (size_t i = 0; i < count; i++) { \
      double value = 0.0; \
      status = component_worse(status, component_get(c, references[i], unit_type, &value)); \
      values[i] = (fmi3##Name)value; \
    } \
    return (fmi3Status)status; \
  } \
  fmi3Status fmi3Set##Name(fmi3Instance c, const fmi3ValueReference references[], size_t count, const fmi3##Name values[], \
                           size_t value_count) { \
    if (!component_may(c, COMPONENT_SETTABLE, "fmi3Set" #Name) || value_count != count) return fmi3Error; \
    enum component_status status = COMPONENT_OK; \
    for (size_t i = 0; i < count; i++) \
      status = component_worse(status, component_set(c, references[i], unit_type, (double)values[i])); \
    return (fmi3Status)status; \
  }
VALUES(Float64, UNIT_REAL)
VALUES(Int32, UNIT_INTEGER)
VALUES(Boolean, UNIT_BOOLEAN)

/* There are none of these types: only nothing can be asked of them. */
#define NONE(Name) \
  fmi3Status fmi3Get##Name(fmi3Instance c, const fmi3ValueReference references[], size_t count, fmi3##Name values[], \
                           size_t value_count) { \
    (void)c, (void)references, (void)values; \
    return count == 0 && value_count == 0 ? fmi3OK : fmi3Error; \
  } \
  fmi3Status fmi3Set##Name(fmi3Instance c, const fmi3ValueReference references[], size_t count, const fmi3##Name values[], \
                           size_t value_count) { \
    (void)c, (void)references, (void)values; \
    return count == 0 && value_count == 0 ? fmi3OK : fmi3Error; \
  }
NONE(Float32)
NONE(Int8)
NONE(UInt8)
NONE(Int16)
NONE(UInt16)
NONE(UInt32)
NONE(Int64)
NONE(UInt64)
NONE(String)

fmi3Status fmi3GetBinary(fmi3Instance c, const fmi3ValueReference references[], size_t count, size_t sizes[], fmi3Binary values[],
                         size_t value_count) {
  (void)c, (void)references, (void)sizes, (void)values;
  return count == 0 && value_count == 0 ? fmi3OK : fmi3Error;
}
fmi3Status fmi3SetBinary(fmi3Instance c, const fmi3ValueReference references[], size_t count, const size_t sizes[],
                         const fmi3Binary values[], size_t value_count) {
  (void)c, (void)references, (void)sizes, (void)values;
  return count == 0 && value_count == 0 ? fmi3OK : fmi3Error;
}
fmi3Status fmi3GetClock(fmi3Instance c, const fmi3ValueReference references[], size_t count, fmi3Clock values[]) {
  (void)c, (void)references, (void)values;
  return count == 0 ? fmi3OK : fmi3Error;
}
fmi3Status fmi3SetClock(fmi3Instance c, const fmi3ValueReference references[], size_t count, const fmi3Clock values[]) {
  (void)c, (void)references, (void)values;
  return count == 0 ? fmi3OK : fmi3Error;
}

/* ---- States ---- */

fmi3Status fmi3GetFMUState(fmi3Instance c, fmi3FMUState *state) {
  return component_may(c, COMPONENT_ANY, "fmi3GetFMUState") ? (fmi3Status)component_state_take(c, state) : fmi3Error;
}
fmi3Status fmi3SetFMUState(fmi3Instance c, fmi3FMUState state) {
  return component_may(c, COMPONENT_ANY, "fmi3SetFMUState") ? (fmi3Status)component_state_put(c, state) : fmi3Error;
}
fmi3Status fmi3FreeFMUState(fmi3Instance c, fmi3FMUState *state) {
  (void)c;
  if (state) free(*state), *state = NULL;
  return fmi3OK;
}
fmi3Status fmi3SerializedFMUStateSize(fmi3Instance c, fmi3FMUState state, size_t *size) {
  return component_may(c, COMPONENT_ANY, "fmi3SerializedFMUStateSize") ? (fmi3Status)component_state_size(c, state, size)
                                                                       : fmi3Error;
}
fmi3Status fmi3SerializeFMUState(fmi3Instance c, fmi3FMUState state, fmi3Byte bytes[], size_t size) {
  return component_may(c, COMPONENT_ANY, "fmi3SerializeFMUState")
             ? (fmi3Status)component_state_write(c, state, (char *)bytes, size)
             : fmi3Error;
}
fmi3Status fmi3DeserializeFMUState(fmi3Instance c, const fmi3Byte bytes[], size_t size, fmi3FMUState *state) {
  return component_may(c, COMPONENT_ANY, "fmi3DeserializeFMUState")
             ? (fmi3Status)component_state_read(c, (const char *)bytes, size, state)
             : fmi3Error;
}

/* ---- Steps ---- */

fmi3Status fmi3DoStep(fmi3Instance c, fmi3Float64 now, fmi3Float64 size, fmi3Boolean no_going_back, fmi3Boolean *event_wanted,
                      fmi3Boolean *terminate, fmi3Boolean *early, fmi3Float64 *last) {
  (void)no_going_back;
  if (event_wanted) *event_wanted = false;
  if (terminate) *terminate = false; // an engine that stands can be started again
  if (early) *early = false;
  if (!component_may(c, COMPONENT_IN_STEPS, "fmi3DoStep")) return fmi3Error;
  const enum component_status status = component_step(c, now, size);
  if (last) *last = unit_time_s(((struct component *)c)->unit);
  return (fmi3Status)status;
}

/* ---- What the description says it has not ---- */

fmi3Instance fmi3InstantiateModelExchange(fmi3String name, fmi3String token, fmi3String resources, fmi3Boolean visible,
                                          fmi3Boolean logging, fmi3InstanceEnvironment environment, fmi3LogMessageCallback log) {
  (void)name, (void)token, (void)resources, (void)visible, (void)logging, (void)environment, (void)log;
  return NULL;
}
fmi3Instance fmi3InstantiateScheduledExecution(fmi3String name, fmi3String token, fmi3String resources, fmi3Boolean visible,
                                               fmi3Boolean logging, fmi3InstanceEnvironment environment,
                                               fmi3LogMessageCallback log, fmi3ClockUpdateCallback clock,
                                               fmi3LockPreemptionCallback lock, fmi3LockPreemptionCallback unlock) {
  (void)name, (void)token, (void)resources, (void)visible, (void)logging, (void)environment, (void)log, (void)clock, (void)lock,
      (void)unlock;
  return NULL;
}

// clang-format off
#define REFUSED(name, ...) fmi3Status name(__VA_ARGS__) { return fmi3Error; }
#pragma GCC diagnostic push
#pragma GCC diagnostic ignored "-Wunused-parameter" // the standard's arguments, of calls that are refused
REFUSED(fmi3EnterEventMode, fmi3Instance c)
REFUSED(fmi3EnterStepMode, fmi3Instance c)
REFUSED(fmi3EnterConfigurationMode, fmi3Instance c)
REFUSED(fmi3ExitConfigurationMode, fmi3Instance c)
REFUSED(fmi3GetNumberOfVariableDependencies, fmi3Instance c, fmi3ValueReference r, size_t *n)
REFUSED(fmi3GetVariableDependencies, fmi3Instance c, fmi3ValueReference r, size_t a[], fmi3ValueReference b[], size_t d[], fmi3DependencyKind k[], size_t n)
REFUSED(fmi3GetDirectionalDerivative, fmi3Instance c, const fmi3ValueReference a[], size_t i, const fmi3ValueReference b[], size_t j, const fmi3Float64 s[], size_t k, fmi3Float64 t[], size_t l)
REFUSED(fmi3GetAdjointDerivative, fmi3Instance c, const fmi3ValueReference a[], size_t i, const fmi3ValueReference b[], size_t j, const fmi3Float64 s[], size_t k, fmi3Float64 t[], size_t l)
REFUSED(fmi3GetIntervalDecimal, fmi3Instance c, const fmi3ValueReference r[], size_t n, fmi3Float64 v[], fmi3IntervalQualifier q[])
REFUSED(fmi3GetIntervalFraction, fmi3Instance c, const fmi3ValueReference r[], size_t n, fmi3UInt64 a[], fmi3UInt64 b[], fmi3IntervalQualifier q[])
REFUSED(fmi3GetShiftDecimal, fmi3Instance c, const fmi3ValueReference r[], size_t n, fmi3Float64 v[])
REFUSED(fmi3GetShiftFraction, fmi3Instance c, const fmi3ValueReference r[], size_t n, fmi3UInt64 a[], fmi3UInt64 b[])
REFUSED(fmi3SetIntervalDecimal, fmi3Instance c, const fmi3ValueReference r[], size_t n, const fmi3Float64 v[])
REFUSED(fmi3SetIntervalFraction, fmi3Instance c, const fmi3ValueReference r[], size_t n, const fmi3UInt64 a[], const fmi3UInt64 b[])
REFUSED(fmi3SetShiftDecimal, fmi3Instance c, const fmi3ValueReference r[], size_t n, const fmi3Float64 v[])
REFUSED(fmi3SetShiftFraction, fmi3Instance c, const fmi3ValueReference r[], size_t n, const fmi3UInt64 a[], const fmi3UInt64 b[])
REFUSED(fmi3EvaluateDiscreteStates, fmi3Instance c)
REFUSED(fmi3UpdateDiscreteStates, fmi3Instance c, fmi3Boolean *a, fmi3Boolean *b, fmi3Boolean *d, fmi3Boolean *e, fmi3Boolean *f, fmi3Float64 *g)
REFUSED(fmi3EnterContinuousTimeMode, fmi3Instance c)
REFUSED(fmi3CompletedIntegratorStep, fmi3Instance c, fmi3Boolean a, fmi3Boolean *b, fmi3Boolean *d)
REFUSED(fmi3SetTime, fmi3Instance c, fmi3Float64 t)
REFUSED(fmi3SetContinuousStates, fmi3Instance c, const fmi3Float64 x[], size_t n)
REFUSED(fmi3GetContinuousStateDerivatives, fmi3Instance c, fmi3Float64 x[], size_t n)
REFUSED(fmi3GetEventIndicators, fmi3Instance c, fmi3Float64 x[], size_t n)
REFUSED(fmi3GetContinuousStates, fmi3Instance c, fmi3Float64 x[], size_t n)
REFUSED(fmi3GetNominalsOfContinuousStates, fmi3Instance c, fmi3Float64 x[], size_t n)
REFUSED(fmi3GetNumberOfEventIndicators, fmi3Instance c, size_t *n)
REFUSED(fmi3GetNumberOfContinuousStates, fmi3Instance c, size_t *n)
REFUSED(fmi3GetOutputDerivatives, fmi3Instance c, const fmi3ValueReference r[], size_t n, const fmi3Int32 o[], fmi3Float64 v[], size_t m)
REFUSED(fmi3ActivateModelPartition, fmi3Instance c, fmi3ValueReference r, fmi3Float64 t)
#pragma GCC diagnostic pop
// clang-format on
