/* FMI 2.0.4, co-simulation: each call to what it means of a component. */
#include "fmu/fmi2_api.h"

#include "fmu/component.h"

#include <stdlib.h>
#include <string.h>

enum {
  BEFORE = 1u << COMPONENT_INSTANTIATED,
  INITIALIZING = 1u << COMPONENT_INITIALIZING,
  STEPPING = 1u << COMPONENT_STEPPING,
  TERMINATED = 1u << COMPONENT_TERMINATED,
  ANY = BEFORE | INITIALIZING | STEPPING | TERMINATED,
};

static void pass_on(struct component *component, enum component_status status, const char *category, const char *text) {
  const fmi2CallbackFunctions *calls = component->logger;
  if (calls && calls->logger)
    calls->logger(calls->componentEnvironment, component->name, (fmi2Status)status, category, "%s", text);
}

const char *fmi2GetTypesPlatform(void) { return "default"; }
const char *fmi2GetVersion(void) { return "2.0"; }

fmi2Status fmi2SetDebugLogging(fmi2Component c, fmi2Boolean on, size_t count, const fmi2String categories[]) {
  struct component *component = c;
  if (!component_may(component, ANY, "fmi2SetDebugLogging")) return fmi2Error;
  if (count == 0) component->logs_events = component->logs_errors = on;
  for (size_t i = 0; i < count; i++) {
    const bool all = strcmp(categories[i], "logAll") == 0;
    if (all || strcmp(categories[i], "logEvents") == 0) component->logs_events = on;
    if (all || strncmp(categories[i], "logStatus", 9) == 0) component->logs_errors = on;
  }
  return fmi2OK;
}

/* The importer's functions outlive the instance, says the standard; a copy does in any case. */
fmi2Component fmi2Instantiate(fmi2String name, fmi2Type type, fmi2String guid, fmi2String resources,
                              const fmi2CallbackFunctions *functions, fmi2Boolean visible, fmi2Boolean logging) {
  (void)visible;
  if (type != fmi2CoSimulation) return NULL;
  fmi2CallbackFunctions *copy = calloc(1, sizeof *copy);
  if (!copy) return NULL;
  if (functions) *copy = *functions;
  struct component *component = component_create(name, guid, resources, pass_on, NULL, copy, logging);
  if (!component) free(copy);
  return component;
}

void fmi2FreeInstance(fmi2Component c) {
  struct component *component = c;
  if (component) free(component->logger);
  component_destroy(component);
}

fmi2Status fmi2SetupExperiment(fmi2Component c, fmi2Boolean tolerance_defined, fmi2Real tolerance, fmi2Real start,
                               fmi2Boolean stop_defined, fmi2Real stop) {
  (void)tolerance_defined, (void)tolerance; // its steps are of one size
  if (!component_may(c, BEFORE, "fmi2SetupExperiment")) return fmi2Error;
  return (fmi2Status)component_set_up(c, start, stop_defined, stop);
}

fmi2Status fmi2EnterInitializationMode(fmi2Component c) {
  if (!component_may(c, BEFORE, "fmi2EnterInitializationMode")) return fmi2Error;
  ((struct component *)c)->phase = COMPONENT_INITIALIZING;
  return fmi2OK;
}

fmi2Status fmi2ExitInitializationMode(fmi2Component c) {
  return component_may(c, INITIALIZING, "fmi2ExitInitializationMode") ? (fmi2Status)component_initialize(c) : fmi2Error;
}

fmi2Status fmi2Terminate(fmi2Component c) {
  if (!component_may(c, STEPPING, "fmi2Terminate")) return fmi2Error;
  ((struct component *)c)->phase = COMPONENT_TERMINATED;
  return fmi2OK;
}

fmi2Status fmi2Reset(fmi2Component c) {
  struct component *component = c;
  if (!component_may(component, ANY, "fmi2Reset")) return fmi2Error;
  unit_reset(component->unit);
  component->phase = COMPONENT_INSTANTIATED;
  component->stops = false;
  return fmi2OK;
}

/* The worst of several. */
static fmi2Status worse(fmi2Status a, enum component_status b) { return (fmi2Status)b > a ? (fmi2Status)b : a; }

#define GET(Name, Type, unit_type) \
  fmi2Status fmi2Get##Name(fmi2Component c, const fmi2ValueReference references[], size_t count, Type values[]) { \
    if (!component_may(c, ANY, "fmi2Get" #Name)) return fmi2Error; \
    fmi2Status status = fmi2OK; \
    for (size_t i = 0; i < count; i++) { \
      double value = 0.0; \
      status = worse(status, component_get(c, references[i], unit_type, &value)); \
      values[i] = (Type)value; \
    } \
    return status; \
  } \
  fmi2Status fmi2Set##Name(fmi2Component c, const fmi2ValueReference references[], size_t count, const Type values[]) { \
    if (!component_may(c, BEFORE | INITIALIZING | STEPPING, "fmi2Set" #Name)) return fmi2Error; \
    fmi2Status status = fmi2OK; \
    for (size_t i = 0; i < count; i++) \
      status = worse(status, component_set(c, references[i], unit_type, AS_VALUE(unit_type, values[i]))); \
    return status; \
  }
#define AS_VALUE(unit_type, value) ((unit_type) == UNIT_BOOLEAN ? (double)((value) != 0) : (double)(value))
GET(Real, fmi2Real, UNIT_REAL)
GET(Integer, fmi2Integer, UNIT_INTEGER)
GET(Boolean, fmi2Boolean, UNIT_BOOLEAN)

/* There are no texts. */
fmi2Status fmi2GetString(fmi2Component c, const fmi2ValueReference references[], size_t count, fmi2String values[]) {
  (void)c, (void)references, (void)values;
  return count == 0 ? fmi2OK : fmi2Error;
}
fmi2Status fmi2SetString(fmi2Component c, const fmi2ValueReference references[], size_t count, const fmi2String values[]) {
  (void)c, (void)references, (void)values;
  return count == 0 ? fmi2OK : fmi2Error;
}

fmi2Status fmi2GetFMUstate(fmi2Component c, fmi2FMUstate *state) {
  return component_may(c, ANY, "fmi2GetFMUstate") ? (fmi2Status)component_state_take(c, state) : fmi2Error;
}
fmi2Status fmi2SetFMUstate(fmi2Component c, fmi2FMUstate state) {
  return component_may(c, ANY, "fmi2SetFMUstate") ? (fmi2Status)component_state_put(c, state) : fmi2Error;
}
fmi2Status fmi2FreeFMUstate(fmi2Component c, fmi2FMUstate *state) {
  (void)c;
  if (state) free(*state), *state = NULL;
  return fmi2OK;
}
fmi2Status fmi2SerializedFMUstateSize(fmi2Component c, fmi2FMUstate state, size_t *size) {
  return component_may(c, ANY, "fmi2SerializedFMUstateSize") ? (fmi2Status)component_state_size(c, state, size) : fmi2Error;
}
fmi2Status fmi2SerializeFMUstate(fmi2Component c, fmi2FMUstate state, fmi2Byte bytes[], size_t size) {
  return component_may(c, ANY, "fmi2SerializeFMUstate") ? (fmi2Status)component_state_write(c, state, bytes, size) : fmi2Error;
}
fmi2Status fmi2DeSerializeFMUstate(fmi2Component c, const fmi2Byte bytes[], size_t size, fmi2FMUstate *state) {
  return component_may(c, ANY, "fmi2DeSerializeFMUstate") ? (fmi2Status)component_state_read(c, bytes, size, state) : fmi2Error;
}

/* ---- What the description says it has not ---- */

fmi2Status fmi2GetDirectionalDerivative(fmi2Component c, const fmi2ValueReference unknowns[], size_t unknown_count,
                                        const fmi2ValueReference knowns[], size_t known_count, const fmi2Real known[],
                                        fmi2Real unknown[]) {
  (void)c, (void)unknowns, (void)unknown_count, (void)knowns, (void)known_count, (void)known, (void)unknown;
  return fmi2Error;
}
fmi2Status fmi2SetRealInputDerivatives(fmi2Component c, const fmi2ValueReference references[], size_t count,
                                       const fmi2Integer orders[], const fmi2Real values[]) {
  (void)c, (void)references, (void)count, (void)orders, (void)values;
  return fmi2Error;
}
fmi2Status fmi2GetRealOutputDerivatives(fmi2Component c, const fmi2ValueReference references[], size_t count,
                                        const fmi2Integer orders[], fmi2Real values[]) {
  (void)c, (void)references, (void)count, (void)orders, (void)values;
  return fmi2Error;
}
fmi2Status fmi2CancelStep(fmi2Component c) {
  (void)c;
  return fmi2Error; // no step is ever pending
}

/* ---- Steps ---- */

fmi2Status fmi2DoStep(fmi2Component c, fmi2Real now, fmi2Real size, fmi2Boolean no_going_back) {
  (void)no_going_back;
  return component_may(c, STEPPING, "fmi2DoStep") ? (fmi2Status)component_step(c, now, size) : fmi2Error;
}

fmi2Status fmi2GetStatus(fmi2Component c, const fmi2StatusKind kind, fmi2Status *value) {
  (void)c, (void)kind, (void)value;
  return fmi2Discard; // only of a step that goes on by itself, which none does
}
fmi2Status fmi2GetRealStatus(fmi2Component c, const fmi2StatusKind kind, fmi2Real *value) {
  if (!component_may(c, ANY, "fmi2GetRealStatus") || kind != fmi2LastSuccessfulTime) return fmi2Discard;
  *value = unit_time_s(((struct component *)c)->unit);
  return fmi2OK;
}
fmi2Status fmi2GetIntegerStatus(fmi2Component c, const fmi2StatusKind kind, fmi2Integer *value) {
  (void)c, (void)kind, (void)value;
  return fmi2Discard;
}
fmi2Status fmi2GetBooleanStatus(fmi2Component c, const fmi2StatusKind kind, fmi2Boolean *value) {
  if (!component_may(c, ANY, "fmi2GetBooleanStatus") || kind != fmi2Terminated) return fmi2Discard;
  *value = fmi2False; // an engine that stands can be started again
  return fmi2OK;
}
fmi2Status fmi2GetStringStatus(fmi2Component c, const fmi2StatusKind kind, fmi2String *value) {
  (void)c, (void)kind, (void)value;
  return fmi2Discard;
}
