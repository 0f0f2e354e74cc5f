# Run by cpack when all is laid out and before anything is packed: what libbladegap needs, by dpkg-shlibdeps. Cpack would ask that by itself,
# and then also write scripts that call ldconfig, where Debian wants a trigger.
set(staged ${CPACK_TEMPORARY_INSTALL_DIRECTORY}/library)
file(GLOB_RECURSE shared ${staged}/usr/lib/*/libbladegap.so.*.*.*)
set(scratch ${CPACK_TOPLEVEL_DIRECTORY}/needs)
file(WRITE ${scratch}/debian/control "Source: bladegap\n\nPackage: libbladegap\nArchitecture: any\n")
execute_process(COMMAND dpkg-shlibdeps -O ${shared} WORKING_DIRECTORY ${scratch} OUTPUT_VARIABLE needs ERROR_QUIET
                OUTPUT_STRIP_TRAILING_WHITESPACE COMMAND_ERROR_IS_FATAL ANY)
if(NOT needs MATCHES "^shlibs:Depends=(libc6 .+)$")
  message(FATAL_ERROR "libbladegap is to need libc6 alone, dpkg-shlibdeps says: ${needs}")
endif()
set(CPACK_DEBIAN_LIBRARY_PACKAGE_DEPENDS ${CMAKE_MATCH_1})
