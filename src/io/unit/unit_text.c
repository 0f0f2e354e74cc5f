#include "io/unit/unit_text.h"

#include "analysis/run/claim_number.h"
#include "fmu/component.h"
#include "io/format/html.h"

#include <math.h>
#include <string.h>

static const char disclaimer[] =
    "A teaching model of an invented engine: on a real car the maker's information and a qualified technician decide.";

static void put_attribute(const char *name, const char *text, FILE *stream) {
  fprintf(stream, " %s=\"", name);
  html_put(stream, text);
  fputc('"', stream);
}

static void put_number(const char *name, double value, FILE *stream) { fprintf(stream, " %s=\"%.17g\"", name, value); }

/* ---- Units: those whose meaning in SI is known are told so; the others by name ---- */

static const struct {
  const char *name, *base; // attributes of BaseUnit
} units[] = {
    {"rpm", "s=\"-1\" rad=\"1\" factor=\"0.10471975511965977\""},
    {"degrees", "rad=\"1\" factor=\"0.017453292519943295\""},
    {"%", "factor=\"0.01\""},
    {"mm2", "m=\"2\" factor=\"1e-06\""},
    {"mm", "m=\"1\" factor=\"0.001\""},
    {"um", "m=\"1\" factor=\"1e-06\""},
    {"m", "m=\"1\""},
    {"g/s", "kg=\"1\" s=\"-1\" factor=\"0.001\""},
    {"kPa", "kg=\"1\" m=\"-1\" s=\"-2\" factor=\"1000\""},
    {"°C", "K=\"1\" offset=\"273.15\""},
    {"C", "K=\"1\" offset=\"273.15\""},
    {"V", "kg=\"1\" m=\"2\" s=\"-3\" A=\"-1\""},
    {"A", "A=\"1\""},
    {"W", "kg=\"1\" m=\"2\" s=\"-3\""},
    {"Nm", "kg=\"1\" m=\"2\" s=\"-2\""},
    {"N m", "kg=\"1\" m=\"2\" s=\"-2\""},
    {"ohm", "kg=\"1\" m=\"2\" s=\"-3\" A=\"-2\""},
    {"s", "s=\"1\""},
};
enum { UNIT_COUNT = sizeof units / sizeof units[0], UNITS_MOST = 200 };

static const char *unit_of(const struct unit_variable *variable) {
  if (variable->type != UNIT_REAL) return "";
  if (variable->role == UNIT_TIME) return "s";
  return claim_number_unit(variable->name);
}

static void put_units(const struct unit_list *list, FILE *stream) {
  const char *seen[UNITS_MOST];
  size_t count = 0;
  fputs("  <UnitDefinitions>\n", stream);
  for (size_t i = 0; i < list->count && count < UNITS_MOST; i++) {
    const char *unit = unit_of(&list->items[i]);
    bool known = !*unit;
    for (size_t k = 0; k < count; k++) known |= strcmp(seen[k], unit) == 0;
    if (known) continue;
    seen[count++] = unit;
    fputs("    <Unit", stream);
    put_attribute("name", unit, stream);
    const char *base = NULL;
    for (size_t k = 0; k < UNIT_COUNT; k++)
      if (strcmp(units[k].name, unit) == 0) base = units[k].base;
    if (base)
      fprintf(stream, "><BaseUnit %s/></Unit>\n", base);
    else
      fputs("/>\n", stream);
  }
  fputs("  </UnitDefinitions>\n", stream);
}

/* ---- Variables ---- */

static void put_range(const struct unit_variable *variable, FILE *stream) {
  const bool whole = variable->type == UNIT_INTEGER;
  if (variable->type == UNIT_BOOLEAN || isnan(variable->min)) return;
  if (whole)
    fprintf(stream, " min=\"%.0f\" max=\"%.0f\"", variable->min, variable->max);
  else
    put_number("min", variable->min, stream), put_number("max", variable->max, stream);
}

static void put_start(const struct unit_variable *variable, FILE *stream) {
  if (variable->role == UNIT_TIME || variable->role == UNIT_OUTPUT) return;
  if (variable->type == UNIT_BOOLEAN)
    fprintf(stream, " start=\"%s\"", variable->start > 0.0 ? "true" : "false");
  else if (variable->type == UNIT_INTEGER)
    fprintf(stream, " start=\"%.0f\"", variable->start);
  else
    put_number("start", variable->start, stream);
}

static const char *const roles[] = {"independent", "input", "parameter", "output"};

static const char *variability(const struct unit_variable *variable) {
  if (variable->role == UNIT_PARAMETER) return "fixed";
  return variable->type == UNIT_REAL ? "continuous" : "discrete";
}

static void put_variable(int version, const struct unit_variable *variable, FILE *stream) {
  static const char *const types2[] = {"Real", "Integer", "Boolean"}, *const types3[] = {"Float64", "Int32", "Boolean"};
  fprintf(stream, "    <%s", version == 2 ? "ScalarVariable" : types3[variable->type]);
  put_attribute("name", variable->name, stream);
  fprintf(stream, " valueReference=\"%u\" causality=\"%s\" variability=\"%s\"", variable->reference, roles[variable->role],
          variability(variable));
  put_attribute("description", variable->text, stream);
  if (version == 2) fprintf(stream, "><%s", types2[variable->type]);
  if (*unit_of(variable)) put_attribute("unit", unit_of(variable), stream);
  put_range(variable, stream);
  put_start(variable, stream);
  fputs(version == 2 ? "/></ScalarVariable>\n" : "/>\n", stream);
}

static void put_structure(int version, const struct unit_list *list, FILE *stream) {
  fputs("  <ModelStructure>\n", stream);
  const char *const blocks2[] = {"Outputs", "InitialUnknowns"}, *const blocks3[] = {"Output", "InitialUnknown"};
  for (int block = 0; block < 2; block++) {
    if (version == 2) fprintf(stream, "    <%s>\n", blocks2[block]);
    for (size_t i = 0; i < list->count; i++) {
      if (list->items[i].role != UNIT_OUTPUT) continue;
      if (version == 2)
        fprintf(stream, "      <Unknown index=\"%zu\"/>\n", i + 1);
      else
        fprintf(stream, "    <%s valueReference=\"%u\"/>\n", blocks3[block], list->items[i].reference);
    }
    if (version == 2) fprintf(stream, "    </%s>\n", blocks2[block]);
  }
  fputs("  </ModelStructure>\n", stream);
}

/* ---- The description ---- */

static void put_interface(int version, const char *const *sources, FILE *stream) {
  if (version == 3) {
    fputs("  <CoSimulation modelIdentifier=\"" UNIT_INPUT_IDENTIFIER "\" canHandleVariableCommunicationStepSize=\"true\" "
          "fixedInternalStepSize=\"0.01\" canGetAndSetFMUState=\"true\" canSerializeFMUState=\"true\"/>\n",
          stream);
    return;
  }
  fputs("  <CoSimulation modelIdentifier=\"" UNIT_INPUT_IDENTIFIER "\" canHandleVariableCommunicationStepSize=\"true\" "
        "canNotUseMemoryManagementFunctions=\"true\" canGetAndSetFMUstate=\"true\" canSerializeFMUstate=\"true\">\n    "
        "<SourceFiles>\n",
        stream);
  for (size_t i = 0; sources[i]; i++) {
    fputs("      <File", stream);
    put_attribute("name", sources[i], stream);
    fputs("/>\n", stream);
  }
  fputs("    </SourceFiles>\n  </CoSimulation>\n", stream);
}

void unit_text_describe(const struct unit_file *unit, const struct unit_list *list, const char *const *sources, FILE *stream) {
  char token[COMPONENT_TOKEN_SIZE];
  component_token(token);
  const bool old = unit->version == 2;
  fprintf(stream, "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<fmiModelDescription fmiVersion=\"%s\"", old ? "2.0" : "3.0");
  put_attribute("modelName", unit->engine->name, stream);
  put_attribute(old ? "guid" : "instantiationToken", token, stream);
  put_attribute("description", unit->engine->title, stream);
  put_attribute("version", unit->program, stream);
  put_attribute("license", "MIT", stream);
  put_attribute("generationTool", "bladegap", stream);
  put_attribute("variableNamingConvention", "flat", stream);
  if (old) fputs(" numberOfEventIndicators=\"0\"", stream);
  fputs(">\n", stream);
  put_interface(unit->version, sources, stream);
  put_units(list, stream);
  fputs("  <LogCategories>\n    <Category name=\"logEvents\" description=\"what happens: stalls, fault codes, limits of the "
        "computer\"/>\n    <Category name=\"logStatusDiscard\" description=\"a value or a step that is not possible\"/>\n    "
        "<Category name=\"logStatusError\" description=\"why a call failed\"/>\n  </LogCategories>\n  <DefaultExperiment "
        "startTime=\"0\" stopTime=\"60\" stepSize=\"0.01\"/>\n  <ModelVariables>\n",
        stream);
  for (size_t i = 0; i < list->count; i++) put_variable(unit->version, &list->items[i], stream);
  fputs("  </ModelVariables>\n", stream);
  put_structure(unit->version, list, stream);
  fputs("</fmiModelDescription>\n", stream);
}

void unit_text_build(const char *const *sources, FILE *stream) {
  fputs("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<fmiBuildDescription fmiVersion=\"3.0\">\n"
        "  <BuildConfiguration modelIdentifier=\"" UNIT_INPUT_IDENTIFIER "\">\n"
        "    <SourceFileSet language=\"C11\" compilerOptions=\"-fPIC -fvisibility=hidden -ffp-contract=off -fno-math-errno "
        "-fno-trapping-math\">\n",
        stream);
  for (size_t i = 0; sources[i]; i++) {
    fputs("      <SourceFile", stream);
    put_attribute("name", sources[i], stream);
    fputs("/>\n", stream);
  }
  fputs("      <PreprocessorDefinition name=\"_GNU_SOURCE\"/>\n      <IncludeDirectory name=\".\"/>\n    </SourceFileSet>\n"
        "    <Library name=\"m\" external=\"true\"/>\n  </BuildConfiguration>\n</fmiBuildDescription>\n",
        stream);
}

/* ---- The page ---- */

static void put_table(const struct unit_list *list, enum unit_role role, const char *title, FILE *stream) {
  fprintf(stream, "<h2>%s</h2>\n<table>\n<tr><th>name</th><th>unit</th><th>start</th><th>range</th><th>what it is</th></tr>\n",
          title);
  for (size_t i = 0; i < list->count; i++) {
    const struct unit_variable *v = &list->items[i];
    if (v->role != role) continue;
    fputs("<tr><td><code>", stream);
    html_put(stream, v->name);
    fputs("</code></td><td>", stream);
    html_put(stream, v->type == UNIT_BOOLEAN ? "switch" : unit_of(v));
    fputs("</td><td>", stream);
    if (role != UNIT_OUTPUT) fprintf(stream, "%g", v->start);
    fputs("</td><td>", stream);
    if (v->type != UNIT_BOOLEAN && !isnan(v->min)) fprintf(stream, "%g to %g", v->min, v->max);
    fputs("</td><td>", stream);
    html_put(stream, v->text);
    fputs("</td></tr>\n", stream);
  }
  fputs("</table>\n", stream);
}

void unit_text_page(const struct unit_file *unit, const struct unit_list *list, FILE *stream) {
  fputs("<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<title>", stream);
  html_put(stream, unit->engine->name);
  fputs("</title>\n<style>body{font:16px/1.5 sans-serif;max-width:60rem;margin:1rem auto;padding:0 "
        "1rem}table{border-collapse:collapse}"
        "td,th{border:1px solid #888;padding:.1rem .4rem;text-align:left;vertical-align:top}</style>\n</head>\n<body>\n<h1>",
        stream);
  html_put(stream, unit->engine->title);
  fputs("</h1>\n", stream);
  fprintf(stream, "<p>%s</p>\n", disclaimer);
  fputs(
      "<p>An idling engine with its computer, for co-simulation. Its computer decides every 10 ms, so a communication step is a "
      "whole number of "
      "those; another one is discarded and nothing is computed. What is set at a communication point acts at once. Values out of "
      "their range are "
      "discarded too, and the log says what is allowed. State can be read, set and kept as bytes; the same calls give the same "
      "bits, with "
      "several units in one process as well.</p>\n<p>A deposit: <code>set.film_um</code>. A driver: <code>set.pedal_pct</code>, "
      "<code>set.key</code>, <code>set.drive</code>. A car that is started: parameter <code>start</code> = 1, then "
      "<code>set.key</code> = 2.</p>\n",
      stream);
  put_table(list, UNIT_INPUT, "Inputs", stream);
  put_table(list, UNIT_OUTPUT, "Outputs", stream);
  put_table(list, UNIT_PARAMETER, "Parameters", stream);
  fputs("</body>\n</html>\n", stream);
}
