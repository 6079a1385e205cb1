/* Results are byte for byte those of the Rust program: demos.c FOLDER-OF-DEMO EXPECTED-FOLDER, for each. */
#include "check.h"

struct folder {
    const char *path;
    size_t files;
};

/* Every file of the report is the one that the Rust program wrote. */
static int32_t same(void *user, const char *name, size_t name_length, const uint8_t *bytes, size_t length) {
    struct folder *expected = (struct folder *)user;
    char path[1024];
    size_t there = 0;
    char *content;
    snprintf(path, sizeof path, "%s/%.*s", expected->path, (int)name_length, name);
    content = fw_test_read(path, &there);
    if (!content || there != length || memcmp(content, bytes, length) != 0) {
        fprintf(stderr, "%s is not the same\n", path);
        free(content);
        return 1;
    }
    free(content);
    expected->files += 1;
    return 0;
}

static void one(const char *demo, const char *expected) {
    fw_job *job = fw_test_demo(demo);
    fw_lateral *lateral = NULL;
    fw_answers *answers = NULL, *opened = NULL;
    struct folder folder = {expected, 0};
    char path[1024];
    size_t length = 0, needed = 0;
    char *text, *json;

    OK(fw_lateral_solve(job, NULL, &lateral, E));
    fw_job_free(job);
    OK(fw_lateral_answers(lateral, NULL, NULL, &answers, E));
    fw_lateral_free(lateral);
    OK(fw_report_files(answers, same, &folder, E));
    CHECK(folder.files >= 20);

    snprintf(path, sizeof path, "%s/result.json", expected);
    text = fw_test_read(path, &length);
    CHECK(text != NULL);
    OK(fw_answers_json(answers, NULL, 0, &needed, E));
    CHECK(needed == length + 1);
    json = (char *)malloc(needed);
    CHECK(json != NULL);
    OK(fw_answers_json(answers, json, needed, &needed, E));
    CHECK(memcmp(json, text, length + 1) == 0);

    /* Opened again, and once more from what that says. */
    OK(fw_answers_from_json(T(text), &opened, E));
    OK(fw_answers_json(opened, json, length + 1, &needed, E));
    CHECK(needed == length + 1 && memcmp(json, text, needed) == 0);
    fw_answers_free(opened);
    OK(fw_answers_from_json(json, length, &opened, E));
    fw_answers_free(answers);
    OK(fw_answers_json(opened, NULL, 0, &needed, E));
    CHECK(needed == length + 1);
    fw_answers_free(opened);
    free(json);
    free(text);
}

int main(int count, char **argument) {
    int i;
    CHECK(count >= 3 && count % 2 == 1);
    for (i = 1; i + 1 < count; i += 2) {
        one(argument[i], argument[i + 1]);
    }
    printf("demos: %d alike\n", (count - 1) / 2);
    return 0;
}
