/* Eight threads ask one lateral and one set of answers at once, and all get the same: threads.c FOLDER-OF-DEMO. */
#include "check.h"

#include <pthread.h>

enum { THREADS = 8, ROUNDS = 6 };

static const fw_lateral *lateral;
static const fw_answers *answers;

/* What a thread found, to be compared. */
struct found {
    double slope, covariance, pool_rows, sentence;
};

static void *ask(void *user) {
    struct found *found = (struct found *)user;
    int round;
    for (round = 0; round < ROUNDS; round++) {
        fw_error error;
        fw_estimate slope;
        fw_table *table = NULL;
        fw_answers *own = NULL;
        double from_m = 0.0, to_m = 0.0, stations[2], matrix[4];
        size_t rows = 0, columns = 0, needed = 0;
        char sentence[4096];
        fw_error_init(&error, sizeof error);
        slope.struct_size = sizeof slope;
        if (fw_lateral_surveyed(lateral, &from_m, &to_m, &error) != FW_OK ||
            fw_lateral_slope_between(lateral, from_m, to_m, &slope, &error) != FW_OK) {
            return NULL;
        }
        stations[0] = from_m;
        stations[1] = to_m;
        if (fw_lateral_covariance(lateral, stations, 2, matrix, &error) != FW_OK ||
            fw_lateral_pools(lateral, 0.02, &table, &error) != FW_OK ||
            fw_table_size(table, &rows, &columns, &error) != FW_OK ||
            fw_answers_sentence(answers, sentence, sizeof sentence, &needed, &error) != FW_OK) {
            return NULL;
        }
        fw_table_free(table);
        if (fw_lateral_answers(lateral, NULL, NULL, &own, &error) != FW_OK) {
            return NULL;
        }
        fw_answers_free(own);
        found->slope = slope.value;
        found->covariance = matrix[3];
        found->pool_rows = (double)rows;
        found->sentence = (double)needed;
    }
    return found;
}

int main(int count, char **argument) {
    pthread_t threads[THREADS];
    struct found found[THREADS];
    fw_job *job;
    fw_lateral *solved = NULL;
    fw_answers *made = NULL;
    fw_solve_options options;
    int i;
    CHECK(count == 2);
    job = fw_test_demo(argument[1]);
    OK(fw_solve_options_init(&options, sizeof options, E));
    options.draws = 50;
    OK(fw_lateral_solve(job, &options, &solved, E));
    OK(fw_lateral_answers(solved, NULL, NULL, &made, E));
    lateral = solved;
    answers = made;
    memset(found, 0, sizeof found);
    for (i = 0; i < THREADS; i++) {
        CHECK(pthread_create(&threads[i], NULL, ask, &found[i]) == 0);
    }
    for (i = 0; i < THREADS; i++) {
        void *end = NULL;
        CHECK(pthread_join(threads[i], &end) == 0 && end == &found[i]);
        CHECK(memcmp(&found[i], &found[0], sizeof found[0]) == 0);
    }
    fw_answers_free(made);
    fw_lateral_free(solved);
    fw_job_free(job);
    printf("threads: %d alike\n", THREADS);
    return 0;
}
