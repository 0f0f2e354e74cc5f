#!/usr/bin/env bash
# release.sh BUILD-FOLDER: what is said of the release agrees with it: version and day in the changelog and the citation, and what is linked
# with docs/licences.md. Truth: CMakeLists.txt, what the linker wrote, the Citation File Format 1.2.0 (the properties of its schema that the
# file uses; the whole file was checked against those by jsonschema once).
set -uo pipefail
build=$1
failed=0
fault() {
  printf '%s\n' "$*"
  failed=1
}
version=$(sed -nE 's/^project\(bladegap VERSION ([0-9.]+).*/\1/p' CMakeLists.txt)
released=$(sed -nE 's/^set\(BLADEGAP_RELEASED ([0-9-]+)\)$/\1/p' CMakeLists.txt)
[ -n "$version" ] && [ -n "$released" ] || fault 'CMakeLists.txt has no version or no day'
[ "$("$build/bladegap" --version)" = "bladegap $version" ] || fault '--version says something else'
[ "$(grep -m 1 '^## ' docs/CHANGELOG.md)" = "## $version, $released" ] || fault "docs/CHANGELOG.md does not begin with $version, $released"
manual=$("$build/bladegap" help --man) # whole: a pipe that head closes is a failed write
head -n 1 <<<"$manual" | grep -qF "$released \"bladegap $version\"" || fault 'the manual page has another version or day'
/usr/bin/python3 - "$version" "$released" <<'END' || fault 'docs/CITATION.cff is not as it should be'
import re
import sys
try:
    import yaml
except ImportError:
    print("no python3-yaml: docs/CITATION.cff is not looked into")
    sys.exit(0)
with open("docs/CITATION.cff", encoding="utf-8") as stream:
    cited = yaml.safe_load(stream)
allowed = {"abstract", "authors", "cff-version", "commit", "contact", "date-released", "doi", "identifiers", "keywords", "license",
           "license-url", "message", "preferred-citation", "references", "repository", "repository-artifact", "repository-code",
           "title", "type", "url", "version"}
texts = ("abstract", "cff-version", "message", "title", "type", "version", "license")
good = (set(cited) <= allowed and {"authors", "cff-version", "message", "title"} <= set(cited)
        and all(isinstance(cited.get(key), str) and cited[key] for key in texts)
        and cited["cff-version"] == "1.2.0" and cited["type"] in ("software", "dataset") and cited["license"] == "MIT"
        and all(set(author) == {"name"} and author["name"] for author in cited["authors"])
        and len(set(cited["keywords"])) == len(cited["keywords"]) > 0
        and re.fullmatch(r"\d{4}-\d\d-\d\d", str(cited["date-released"]))
        and cited["version"] == sys.argv[1] and str(cited["date-released"]) == sys.argv[2])
sys.exit(0 if good else 1)
END

# Every library that is linked has its row; what the page promises to be linked is.
needed() { objdump -p "$1" | awk '$1 == "NEEDED" {print $2}' | grep -vE '^lib(asan|ubsan|gcc_s)\.so'; }
rows=$(grep -oE '^\| [^|]+ \| lib[^|]+' docs/licences.md | sed 's/.*| //' | tr -d ' ' | tr ',' '\n')
for library in $(needed "$build/bladegap") $(needed "$build/libbladegap.so"); do
  grep -qxF "$library" <<<"$rows" || fault "$library is linked and has no row in docs/licences.md"
done
for library in libc.so.6 libm.so.6 libconfig.so.9 libjansson.so.4 libsundials_cvode.so.6 libminizip.so.1 libcmark.so.0.30.2 libedit.so.2; do
  needed "$build/bladegap" | grep -qxF "$library" || fault "docs/licences.md says that $library is linked, and it is not"
done
ldd "$build/bladegap" | grep -E 'libreadline|libgsl|libgmp' && fault 'that is under the GPL or near it'
[ "$failed" -eq 0 ] && echo "$version, $released, $(needed "$build/bladegap" | wc -l) libraries: good"
exit "$failed"
