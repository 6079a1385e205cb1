/* Reads a job, solves it, and prints what matters: the verdict, the segments, the bellies, the next measurement, the
 * cautions.
 *
 *     cc lateral.c $(pkg-config --cflags --libs fallwise) -o lateral && ./lateral
 * ../../../examples/demos/two-bellies/job.toml
 */
#include <fallwise.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static fw_error error;

/* One place where failures end. */
static int failed(void) {
    fprintf(stderr, "%s: %s\n", fw_status_name(error.status), error.message);
    return EXIT_FAILURE;
}

/* A text of a table; short ones only. */
static const char *text(const fw_table *table, size_t row, const char *column, char *buffer, size_t capacity) {
    size_t needed = 0;
    fw_status status = fw_table_text(table, row, column, strlen(column), buffer, capacity, &needed, &error);
    return status == FW_OK ? buffer : "";
}

static int print_texts(const fw_answers *answers, const char *name, const char *column) {
    fw_table *table = NULL;
    size_t rows = 0, columns = 0, row;
    char buffer[2048];
    if (fw_answers_table(answers, name, strlen(name), &table, &error) != FW_OK) {
        return failed();
    }
    if (fw_table_size(table, &rows, &columns, &error) == FW_OK) {
        for (row = 0; row < rows; row++) {
            printf("- %s\n", text(table, row, column, buffer, sizeof buffer));
        }
    }
    fw_table_free(table);
    return EXIT_SUCCESS;
}

static int print(const fw_answers *answers) {
    static const char *const verdicts[] = {"meets", "fails", "undecided"};
    static const char *const states[] = {"found", "possible", "intended"};
    fw_summary summary;
    char sentence[4096];
    size_t needed = 0, i;
    summary.struct_size = sizeof summary;
    if (fw_answers_summary(answers, &summary, &error) != FW_OK ||
        fw_answers_sentence(answers, sentence, sizeof sentence, &needed, &error) != FW_OK) {
        return failed();
    }
    printf("%s\n\nSurveyed: %.2f m to %.2f m. Fall %.0f mm (%.0f to %.0f).", sentence, summary.from_m, summary.to_m,
           1e3 * summary.fall_m, 1e3 * summary.fall_low_m, 1e3 * summary.fall_high_m);
    if (summary.verdict >= 0) {
        printf(" Finding: %s.", verdicts[summary.verdict]);
    }
    printf("\n\n%8s %8s %9s %9s %9s %9s\n", "from m", "to m", "slope %", "sd %", "low %", "high %");
    for (i = 0; i < summary.segments; i++) {
        fw_segment s;
        s.struct_size = sizeof s;
        if (fw_answers_segment(answers, i, &s, &error) != FW_OK) {
            return failed();
        }
        if (s.is_drop) {
            printf("%8.2f %8.2f      drop\n", s.from_m, s.to_m);
        } else {
            printf("%8.2f %8.2f %9.2f %9.2f %9.2f %9.2f\n", s.from_m, s.to_m, 1e2 * s.slope, 1e2 * s.slope_sd,
                   1e2 * s.slope_low, 1e2 * s.slope_high);
        }
    }
    printf("\nWater that bellies can hold:\n");
    for (i = 0; i < summary.pools; i++) {
        fw_pool_figures p;
        p.struct_size = sizeof p;
        if (fw_answers_pool(answers, i, &p, &error) != FW_OK) {
            return failed();
        }
        printf("- %.2f m to %.2f m, %.0f mm deep", p.from_m, p.to_m, 1e3 * p.depth_m);
        if (!isnan(p.volume_m3)) {
            printf(", %.1f l", 1e3 * p.volume_m3);
        }
        printf(" (%s)\n", p.state >= 0 ? states[p.state] : "?");
    }
    if (summary.next > 0) {
        printf("\nNext:\n");
        if (print_texts(answers, "next", "sentence") != EXIT_SUCCESS ||
            print_texts(answers, "next", "hazard") != EXIT_SUCCESS) {
            return EXIT_FAILURE;
        }
    }
    printf("\nCautions:\n");
    return print_texts(answers, "cautions", "text");
}

int main(int count, char **argument) {
    fw_job *job = NULL;
    fw_lateral *lateral = NULL;
    fw_answers *answers = NULL;
    int end = EXIT_FAILURE;
    if (count != 2) {
        fprintf(stderr, "usage: lateral JOB.toml\n");
        return EXIT_FAILURE;
    }
    if (fw_abi_version() != FW_ABI_VERSION) {
        fprintf(stderr, "the library has another binary interface than this program was built for\n");
        return EXIT_FAILURE;
    }
    fw_error_init(&error, sizeof error);
    if (fw_job_from_file(argument[1], strlen(argument[1]), &job, &error) != FW_OK ||
        fw_lateral_solve(job, NULL, &lateral, &error) != FW_OK ||
        fw_lateral_answers(lateral, NULL, NULL, &answers, &error) != FW_OK) {
        failed();
    } else {
        end = print(answers);
    }
    fw_answers_free(answers);
    fw_lateral_free(lateral);
    fw_job_free(job);
    return end;
}
