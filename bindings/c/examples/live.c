/* A device at the reel: takes readings as they come, and every two metres shows how the pipe falls so far; at the end
 * solves all of it. Here the readings are made up; a device has its own.
 *
 *     cc live.c $(pkg-config --cflags --libs fallwise) -lm -o live && ./live
 */
#include <fallwise.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static fw_error error;

static int failed(void) {
    fprintf(stderr, "%s: %s\n", fw_status_name(error.status), error.message);
    return EXIT_FAILURE;
}

/* Cable out, m, and tilt, rad, of the reading with that number: 12 m of pipe at 1 in 50, of which 2 m run backwards. */
static int next_reading(int number, double *counter_m, double *reading_rad) {
    *counter_m = 0.04 * number;
    *reading_rad = (*counter_m > 5.0 && *counter_m < 7.0 ? -0.01 : 0.02) + 0.001 * (number % 5 - 2);
    return *counter_m <= 12.0;
}

static int show(const fw_live *live) {
    char sentence[1024];
    size_t needed = 0;
    fw_status status = fw_live_sentence(live, NULL, sentence, sizeof sentence, &needed, &error);
    if (status == FW_NOT_DETERMINED) {
        return EXIT_SUCCESS; /* too few readings yet */
    }
    if (status != FW_OK) {
        return failed();
    }
    printf("%s\n", sentence);
    return EXIT_SUCCESS;
}

int main(void) {
    const char *instrument = "{\"zero_sd_rad\": 0.005}"; /* of the head: 0.3 degrees */
    fw_job *job = NULL;
    fw_live *live = NULL;
    fw_lateral *lateral = NULL;
    fw_answers *answers = NULL;
    fw_summary summary;
    double counter_m = 0.0, reading_rad = 0.0, shown_m = 0.0;
    int number = 0, result = EXIT_SUCCESS;
    fw_error_init(&error, sizeof error);
    if (fw_job_new(&job, &error) != FW_OK ||
        fw_job_set_json(job, "instrument", strlen("instrument"), instrument, strlen(instrument), &error) != FW_OK ||
        fw_live_new(job, NULL, &live, &error) != FW_OK) {
        result = failed();
    }
    for (; result == EXIT_SUCCESS && next_reading(number, &counter_m, &reading_rad); number++) {
        if (fw_live_push(live, counter_m, reading_rad, NAN, NAN, -1, &error) != FW_OK) {
            result = failed();
        } else if (counter_m - shown_m >= 2.0) {
            shown_m = counter_m;
            result = show(live);
        }
    }
    summary.struct_size = sizeof summary;
    if (result == EXIT_SUCCESS) {
        if (fw_live_finish(live, &lateral, &error) != FW_OK ||
            fw_lateral_answers(lateral, NULL, NULL, &answers, &error) != FW_OK ||
            fw_answers_summary(answers, &summary, &error) != FW_OK) {
            result = failed();
        } else {
            printf("All of it: %d readings, fall %.0f mm (%.0f to %.0f).\n", number, 1e3 * summary.fall_m,
                   1e3 * summary.fall_low_m, 1e3 * summary.fall_high_m);
        }
    }
    fw_answers_free(answers);
    fw_lateral_free(lateral);
    fw_live_free(live);
    fw_job_free(job);
    return result;
}
