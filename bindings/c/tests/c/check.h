/* What the tests in C share. Also compiled as C++17. */
#ifndef FW_TEST_CHECK_H
#define FW_TEST_CHECK_H

#include "fallwise.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static int fw_checks = 0;

/* Ends the program where something is not so. */
#define CHECK(what)                                                                                                    \
    do {                                                                                                               \
        fw_checks += 1;                                                                                                \
        if (!(what)) {                                                                                                 \
            fprintf(stderr, "%s:%d: not so: %s\n", __FILE__, __LINE__, #what);                                         \
            exit(1);                                                                                                   \
        }                                                                                                              \
    } while (0)

/* A call that must end with a status; says what it ended with, and why. */
#define EXPECT(wanted, call)                                                                                           \
    do {                                                                                                               \
        int32_t got_ = (int32_t)(call);                                                                                \
        fw_checks += 1;                                                                                                \
        if (got_ != (int32_t)(wanted)) {                                                                               \
            fprintf(stderr, "%s:%d: %s gave %s, not %s: %s\n", __FILE__, __LINE__, #call, fw_status_name(got_),        \
                    fw_status_name((int32_t)(wanted)), fw_test_error.message);                                         \
            exit(1);                                                                                                   \
        }                                                                                                              \
    } while (0)

#define OK(call) EXPECT(FW_OK, call)

/* A text and its length, as two arguments. */
#define T(text) (text), strlen(text)

static fw_error fw_test_error;
#define E &fw_test_error

/* A whole file, with a NUL behind it; the caller frees it. */
static inline char *fw_test_read(const char *path, size_t *length) {
    FILE *file = fopen(path, "rb");
    char *bytes = NULL;
    long size = 0;
    if (!file) {
        return NULL;
    }
    if (fseek(file, 0, SEEK_END) == 0 && (size = ftell(file)) >= 0 && fseek(file, 0, SEEK_SET) == 0) {
        bytes = (char *)malloc((size_t)size + 1);
        if (bytes && fread(bytes, 1, (size_t)size, file) == (size_t)size) {
            bytes[size] = 0;
            *length = (size_t)size;
        } else {
            free(bytes);
            bytes = NULL;
        }
    }
    fclose(file);
    return bytes;
}

/* Gives files below the folder that `user` names. */
static inline int32_t fw_test_folder(void *user, const char *name, size_t name_length, fw_bytes *out) {
    char path[1024];
    size_t length = 0;
    int written = snprintf(path, sizeof path, "%s/%.*s", (const char *)user, (int)name_length, name);
    char *bytes = written > 0 && (size_t)written < sizeof path ? fw_test_read(path, &length) : NULL;
    fw_status status;
    if (!bytes) {
        return 1;
    }
    status = fw_bytes_append(out, (const uint8_t *)bytes, length, NULL);
    free(bytes);
    return status == FW_OK ? 0 : 2;
}

/* A job from a demo's folder. */
static inline fw_job *fw_test_demo(const char *folder) {
    char path[1024];
    fw_job *job = NULL;
    snprintf(path, sizeof path, "%s/job.toml", folder);
    fw_error_init(&fw_test_error, sizeof fw_test_error);
    OK(fw_job_from_file(T(path), &job, E));
    return job;
}

/* A cell of a table. */
static inline double fw_test_number(const fw_table *table, size_t row, const char *column) {
    double value = 0.0;
    OK(fw_table_number(table, row, T(column), &value, E));
    return value;
}

static inline size_t fw_test_rows(const fw_table *table) {
    size_t rows = 0, columns = 0;
    OK(fw_table_size(table, &rows, &columns, E));
    return rows;
}

#endif
