/* Random sequences of calls over the handles: random.c FOLDER-OF-DEMO [SEQUENCES]. Every call ends with a status,
 * whatever it is given; what it gives is whole.
 *
 * The generator counts: sequence n is the same in every run, so that one that went wrong can be run again (`random.c
 * FOLDER 1 N`). */
#include "check.h"

enum { STEPS = 24 };

static uint64_t seed, counter;

/* Mixes a counter: the finaliser of splitmix64 (Steele, Lea and Flood, 2014). */
static uint64_t next(void) {
    uint64_t z = (seed << 32) + ++counter;
    z = z * 0x9e3779b97f4a7c15u;
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
    return z ^ (z >> 31);
}

static size_t below(size_t n) { return (size_t)(next() % n); }

/* A number that is sometimes odd. */
static double number(void) {
    static const double odd[] = {0.0, -0.0, NAN, INFINITY, -INFINITY, 1e300, -1e300, 5e-324, -1.0, 1e6};
    if (below(4) == 0) {
        return odd[below(sizeof odd / sizeof odd[0])];
    }
    return (double)below(4000) / 100.0 - 4.0;
}

static const char *word(size_t *length) {
    static const char *const words[] = {"segments", "pools", "path",     "from_m",   "slope", "kind",
                                        "flow",     "ties",  "4 in",     "SDR 35",   "ft",    "deg",
                                        "ipc-2021", "2 %",   "\xff\xfe", "\xc3\xa4", "x",     "{}",
                                        "[]",       "null",  "1e999",    "\"up\"",   "relay", "owner.html"};
    const char *chosen = words[below(sizeof words / sizeof words[0])];
    *length = below(8) == 0 ? below(strlen(chosen) + 1) : strlen(chosen);
    return below(20) == 0 ? NULL : chosen;
}

static int32_t stop_at_random(void *user, const char *name, size_t name_length, const uint8_t *bytes, size_t length) {
    (void)user, (void)name, (void)name_length, (void)bytes, (void)length;
    return below(10) == 0;
}

static int32_t ask_at_random(void *user, uint32_t stage, uint64_t draws) {
    (void)user, (void)stage, (void)draws;
    return below(30) == 0;
}

struct handles {
    fw_job *job;
    fw_lateral *lateral;
    fw_answers *answers;
    fw_table *table;
    fw_rulebook *rulebook;
    fw_live *live;
    double counter_m;
};

/* What there is where a sequence has not made its own. */
static fw_lateral *shared_lateral;
static fw_answers *shared_answers;
static fw_table *shared_table;

static const fw_lateral *lateral_of(const struct handles *h) {
    return h->lateral || below(12) == 0 ? h->lateral : shared_lateral;
}
static const fw_answers *answers_of(const struct handles *h) {
    return h->answers || below(12) == 0 ? h->answers : shared_answers;
}
static const fw_table *table_of(const struct handles *h) {
    return h->table || below(12) == 0 ? h->table : shared_table;
}

static int failures, successes;

static void count_status(fw_status status) {
    /* Nothing that is a fault of the library itself. */
    CHECK(status != FW_PANIC && status != FW_REPORT);
    CHECK(strcmp(fw_status_name((int32_t)status), "unknown") != 0);
    if (status == FW_OK) {
        successes += 1;
    } else {
        failures += 1;
        CHECK(fw_test_error.status == status && fw_test_error.message[0] != 0);
    }
}

#define TRY(call) count_status(call)

static void step(struct handles *h, const fw_job *demo) {
    double numbers[8], out[64];
    size_t i, length = 0, needed = 0, rows = 0, columns = 0;
    char buffer[64];
    const char *text = word(&length);
    fw_table *table = NULL;
    fw_place at;
    for (i = 0; i < 8; i++) {
        numbers[i] = number();
    }
    at.station_m = number();
    at.sd_m = number();
    at.taped = (int32_t)below(3);
    at.reserved = 0;
    switch (below(32)) {
    case 0: {
        fw_job *job = NULL;
        TRY(below(3) ? fw_job_redacted(demo, &job, E) : fw_job_new(&job, E));
        fw_job_free(h->job);
        h->job = job;
        break;
    }
    case 1: {
        fw_run run;
        double counter_m[8];
        OK(fw_run_init(&run, sizeof run, E));
        for (i = 0; i < 8; i++) {
            counter_m[i] = (double)i;
            numbers[i] = below(10) ? 0.02 + 0.001 * (double)below(5) : numbers[i];
        }
        run.count = below(9);
        run.counter_m = counter_m;
        run.reading_rad = numbers;
        run.time_s = below(3) ? NULL : counter_m;
        run.toward = (uint32_t)below(3);
        run.by_hand = (int32_t)below(2);
        run.start_station_m = below(3) ? 0.0 : number();
        TRY(fw_job_add_run(h->job, &run, E));
        break;
    }
    case 2: TRY(fw_job_add_reach(h->job, text, length, numbers[0], numbers[1], numbers[2], numbers[3], E)); break;
    case 3: TRY(fw_job_add_bend(h->job, numbers[0], numbers[1], numbers[2], numbers[3], E)); break;
    case 4: TRY(fw_job_add_step(h->job, numbers[0], numbers[1], numbers[2], E)); break;
    case 5: TRY(fw_job_add_invert_tie(h->job, text, length, at, numbers[0], numbers[1], E)); break;
    case 6:
        TRY(fw_job_add_depth_tie(h->job, NULL, 0, at, numbers[0], numbers[1], numbers[2], numbers[3], numbers[4],
                                 numbers[5], E));
        break;
    case 7:
        TRY(fw_job_add_water_level_tie(h->job, NULL, 0, at, at, numbers[0], (uint32_t)below(3), (int32_t)below(3), E));
        break;
    case 8: {
        size_t json_length = 0;
        const char *json = word(&json_length);
        TRY(fw_job_set_json(h->job, text, length, json, json_length, E));
        break;
    }
    case 9:
    case 10: {
        fw_lateral *lateral = NULL;
        fw_solve_options options;
        OK(fw_solve_options_init(&options, sizeof options, E));
        options.draws = (int64_t)below(40) - 2;
        options.seed = next();
        options.progress = below(3) ? NULL : ask_at_random;
        TRY(fw_lateral_solve(below(2) ? h->job : demo, &options, &lateral, E));
        if (lateral) {
            fw_lateral_free(h->lateral);
            h->lateral = lateral;
        }
        break;
    }
    case 11: {
        fw_answers *answers = NULL;
        fw_solve_options options;
        OK(fw_solve_options_init(&options, sizeof options, E));
        options.progress = below(3) ? NULL : ask_at_random;
        TRY(fw_lateral_answers(lateral_of(h), below(2) ? h->rulebook : NULL, &options, &answers, E));
        if (answers) {
            fw_answers_free(h->answers);
            h->answers = answers;
        }
        break;
    }
    case 12: TRY(fw_answers_table(answers_of(h), text, length, &table, E)); break;
    case 13: TRY(fw_table_text(table_of(h), below(6), text, length, buffer, below(sizeof buffer), &needed, E)); break;
    case 14: TRY(fw_table_numbers(table_of(h), text, length, out, below(64), &needed, E)); break;
    case 15: TRY(fw_table_size(table_of(h), &rows, &columns, E)); break;
    case 16: TRY(fw_lateral_at(lateral_of(h), numbers, below(9), &table, E)); break;
    case 17: TRY(fw_lateral_pools(lateral_of(h), numbers[0], &table, E)); break;
    case 18: {
        fw_estimate estimate;
        estimate.struct_size = below(10) ? sizeof estimate : below(200);
        TRY(fw_lateral_slope_between(lateral_of(h), numbers[0], numbers[1], &estimate, E));
        break;
    }
    case 19: {
        fw_dig dig;
        dig.struct_size = sizeof dig;
        TRY(fw_lateral_locate(lateral_of(h), numbers[0], numbers[1], &dig, &table, E));
        break;
    }
    case 20: TRY(fw_lateral_nearest(lateral_of(h), numbers[0], numbers[1], &table, E)); break;
    case 21: {
        fw_rulebook *book = NULL;
        TRY(fw_rulebook_shipped(text, length, &book, E));
        if (book) {
            fw_rulebook_free(h->rulebook);
            h->rulebook = book;
        }
        break;
    }
    case 22: {
        fw_segment segment;
        fw_summary summary;
        segment.struct_size = sizeof segment;
        summary.struct_size = sizeof summary;
        TRY(fw_answers_segment(answers_of(h), below(12), &segment, E));
        TRY(fw_answers_summary(answers_of(h), &summary, E));
        break;
    }
    case 23:
        if (below(8) == 0) {
            TRY(fw_report_files(answers_of(h), stop_at_random, NULL, E));
        }
        break;
    case 25: {
        fw_live *live = NULL;
        fw_live_options options;
        OK(fw_live_options_init(&options, sizeof options, E));
        options.lag_m = below(4) ? 0.2 : numbers[0];
        options.cell_m = below(4) ? 0.05 : numbers[1];
        options.most_cells = below(4) ? 16 : below(40);
        options.most_readings = below(4) ? 10000 : below(30);
        options.draws = below(20);
        TRY(fw_live_new(below(4) ? h->job : demo, below(3) ? &options : NULL, &live, E));
        if (live) {
            fw_live_free(h->live);
            h->live = live;
            h->counter_m = 0.0;
        }
        break;
    }
    case 26:
    case 27:
        for (i = 0; i < 40; i++) {
            double time_s = below(200) ? NAN : numbers[2];
            h->counter_m += below(20) ? 0.05 : numbers[0];
            TRY(fw_live_push(h->live, h->counter_m, below(30) ? 0.02 : numbers[1], time_s, NAN, (int32_t)below(90) ? -1 : 1,
                             E));
        }
        break;
    case 28: {
        fw_lateral *lateral = NULL;
        TRY(below(2) ? fw_live_provisional(h->live, &lateral, below(2) ? out : NULL, E)
                     : fw_live_finish(h->live, &lateral, E));
        if (lateral) {
            fw_lateral_free(h->lateral);
            h->lateral = lateral;
        }
        break;
    }
    case 29: TRY(fw_live_sentence(h->live, h->rulebook, buffer, below(sizeof buffer), &needed, E)); break;
    case 24: {
        fw_document *document = NULL;
        TRY(fw_lateral_capacity(lateral_of(h), text, length, &document, E));
        fw_document_free(document);
        break;
    }
    default: {
        fw_lateral *lateral = NULL;
        size_t count = below(8);
        TRY(fw_lateral_from_segments(numbers, count, numbers, count ? count - 1 : 0, 0.1, numbers[7], &lateral, E));
        fw_lateral_free(lateral);
        TRY(fw_section(numbers[0], numbers[1], (uint32_t)below(6), numbers + 2, below(6), out, E));
        TRY(fw_to_si(text, length, numbers, below(8), out, E));
        TRY(fw_parse_quantity((uint32_t)below(11), text, length, out, E));
        break;
    }
    }
    if (table) {
        OK(fw_table_size(table, &rows, &columns, E));
        fw_table_free(h->table);
        h->table = table;
    }
}

int main(int count, char **argument) {
    size_t sequences, first = 1, n, i;
    fw_job *demo;
    CHECK(count >= 2);
    sequences = count > 2 ? (size_t)strtoul(argument[2], NULL, 10) : 200;
    first = count > 3 ? (size_t)strtoul(argument[3], NULL, 10) : 1;
    demo = fw_test_demo(argument[1]);
    {
        fw_solve_options options;
        OK(fw_solve_options_init(&options, sizeof options, E));
        options.draws = 10;
        OK(fw_lateral_solve(demo, &options, &shared_lateral, E));
        OK(fw_lateral_answers(shared_lateral, NULL, NULL, &shared_answers, E));
        OK(fw_answers_table(shared_answers, T("segments"), &shared_table, E));
    }
    for (n = first; n < first + sequences; n++) {
        struct handles h = {NULL, NULL, NULL, NULL, NULL, NULL, 0.0};
        seed = n;
        counter = 0;
        /* Sometimes with nothing there at all: then every handle is NULL. */
        if (below(10)) {
            OK(fw_job_new(&h.job, E));
        }
        for (i = 0; i < STEPS; i++) {
            step(&h, demo);
        }
        /* In any order. */
        if (below(2)) {
            fw_job_free(h.job);
            fw_lateral_free(h.lateral);
            fw_answers_free(h.answers);
        } else {
            fw_answers_free(h.answers);
            fw_lateral_free(h.lateral);
            fw_job_free(h.job);
        }
        fw_table_free(h.table);
        fw_rulebook_free(h.rulebook);
        fw_live_free(h.live);
    }
    fw_table_free(shared_table);
    fw_answers_free(shared_answers);
    fw_lateral_free(shared_lateral);
    fw_job_free(demo);
    CHECK(successes > 0 && failures > 0);
    printf("random: %lu sequences, %d calls done, %d refused\n", (unsigned long)sequences, successes, failures);
    return 0;
}
