// fallwise from C++17: thin owners over fallwise.h, header only.
//
// Each class owns one handle, frees it, and can be moved; const methods may be called from several threads at once. A
// failure is thrown as fallwise::error, which has the parts of fw_error; no callback of yours may throw: return a
// number that is not 0 in place of it.
#ifndef FALLWISE_HPP
#define FALLWISE_HPP

#include "fallwise.h"

#include <memory>
#include <stdexcept>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace fallwise {

// What a call failed with.
class error : public std::runtime_error {
  public:
    explicit error(const fw_error &parts) : std::runtime_error(parts.message), parts_(parts) {}
    fw_status status() const noexcept { return parts_.status; }
    std::string field() const { return parts_.field; }
    std::string file() const { return parts_.file; }
    const fw_error &parts() const noexcept { return parts_; }

  private:
    fw_error parts_;
};

namespace detail {

// Calls a function with the arguments and an error behind them; throws where it fails.
template <class Function, class... Arguments> void call(Function function, Arguments &&...arguments) {
    fw_error parts;
    fw_error_init(&parts, sizeof parts);
    if (function(std::forward<Arguments>(arguments)..., &parts) != FW_OK) {
        throw error(parts);
    }
}

// A text that a function puts into a buffer: asks for its length, then copies.
template <class Function, class... Arguments> std::string text(Function function, Arguments &&...arguments) {
    std::size_t needed = 0;
    call(function, arguments..., static_cast<char *>(nullptr), std::size_t(0), &needed);
    std::string out(needed, '\0');
    call(function, arguments..., out.data(), out.size(), &needed);
    out.resize(needed - 1);
    return out;
}

template <class T, void (*Free)(T *)> struct freed {
    void operator()(T *handle) const noexcept { Free(handle); }
};
template <class T, void (*Free)(T *)> using owner = std::unique_ptr<T, freed<T, Free>>;

// A new handle from a function that gives one.
template <class Owner, class Function, class... Arguments> Owner made(Function function, Arguments &&...arguments) {
    typename Owner::pointer handle = nullptr;
    call(function, std::forward<Arguments>(arguments)..., &handle);
    return Owner(handle);
}

// A plain struct that is ready to be filled.
template <class T> T sized() {
    T value{};
    value.struct_size = sizeof value;
    return value;
}

// Options as their _init function sets them.
template <class T> T initial(fw_status (*init)(T *, std::size_t, fw_error *)) {
    T value{};
    call(init, &value, sizeof value);
    return value;
}

// A row of figures.
template <class T, class Handle>
T row(fw_status (*get)(const Handle *, std::size_t, T *, fw_error *), const Handle *handle, std::size_t index) {
    T value = sized<T>();
    call(get, handle, index, &value);
    return value;
}

} // namespace detail

// Rows of figures and texts by the names of their columns.
class table {
  public:
    explicit table(fw_table *handle) : handle_(handle) {}
    std::size_t rows() const {
        std::size_t rows = 0, columns = 0;
        detail::call(fw_table_size, handle_.get(), &rows, &columns);
        return rows;
    }
    // NaN where it is not determined.
    double number(std::size_t row, std::string_view column) const {
        double value = 0.0;
        detail::call(fw_table_number, handle_.get(), row, column.data(), column.size(), &value);
        return value;
    }
    std::vector<double> numbers(std::string_view column) const {
        std::size_t needed = rows();
        std::vector<double> out(needed);
        if (needed > 0) {
            detail::call(fw_table_numbers, handle_.get(), column.data(), column.size(), out.data(), out.size(),
                         &needed);
        }
        return out;
    }
    std::string text(std::size_t row, std::string_view column) const {
        return detail::text(fw_table_text, handle_.get(), row, column.data(), column.size());
    }
    const fw_table *get() const noexcept { return handle_.get(); }

  private:
    detail::owner<fw_table, fw_table_free> handle_;
};

// The rows against which a lateral is checked.
class rulebook {
  public:
    static rulebook shipped(std::string_view name) {
        return rulebook(detail::made<owner>(fw_rulebook_shipped, name.data(), name.size()));
    }
    static rulebook parse(std::string_view toml) {
        return rulebook(detail::made<owner>(fw_rulebook_parse, toml.data(), toml.size()));
    }
    const fw_rulebook *get() const noexcept { return handle_.get(); }

  private:
    using owner = detail::owner<fw_rulebook, fw_rulebook_free>;
    explicit rulebook(owner handle) : handle_(std::move(handle)) {}
    owner handle_;
};

// Everything that a lateral has to say.
class answers {
  public:
    explicit answers(fw_answers *handle) : handle_(handle) {}
    static answers from_json(std::string_view json) {
        fw_answers *handle = nullptr;
        detail::call(fw_answers_from_json, json.data(), json.size(), &handle);
        return answers(handle);
    }
    fw_summary summary() const {
        fw_summary value = detail::sized<fw_summary>();
        detail::call(fw_answers_summary, handle_.get(), &value);
        return value;
    }
    std::string sentence() const { return detail::text(fw_answers_sentence, handle_.get()); }
    std::string json() const { return detail::text(fw_answers_json, handle_.get()); }
    std::string csv(std::string_view name) const {
        return detail::text(fw_answers_csv, handle_.get(), name.data(), name.size());
    }
    std::string page(std::string_view name) const {
        return detail::text(fw_report_page, handle_.get(), name.data(), name.size());
    }
    fallwise::table table(std::string_view name) const {
        fw_table *handle = nullptr;
        detail::call(fw_answers_table, handle_.get(), name.data(), name.size(), &handle);
        return fallwise::table(handle);
    }
    fw_segment segment(std::size_t index) const { return detail::row(fw_answers_segment, get(), index); }
    fw_pool_figures pool(std::size_t index) const { return detail::row(fw_answers_pool, get(), index); }
    fw_finding finding(std::size_t index) const { return detail::row(fw_answers_finding, get(), index); }
    fw_reach_figures reach(std::size_t index) const { return detail::row(fw_answers_reach, get(), index); }
    fw_path_node path_node(std::size_t index) const { return detail::row(fw_answers_path_node, get(), index); }
    fw_next next(std::size_t index) const { return detail::row(fw_answers_next, get(), index); }
    fw_dig dig(std::size_t index) const { return detail::row(fw_answers_dig, get(), index); }
    const fw_answers *get() const noexcept { return handle_.get(); }

  private:
    detail::owner<fw_answers, fw_answers_free> handle_;
};

// A solved lateral.
class lateral {
  public:
    explicit lateral(fw_lateral *handle) : handle_(handle) {}
    fw_estimate slope_between(double from_m, double to_m) const {
        fw_estimate value = detail::sized<fw_estimate>();
        detail::call(fw_lateral_slope_between, handle_.get(), from_m, to_m, &value);
        return value;
    }
    fw_estimate fall_between(double from_m, double to_m) const {
        fw_estimate value = detail::sized<fw_estimate>();
        detail::call(fw_lateral_fall_between, handle_.get(), from_m, to_m, &value);
        return value;
    }
    std::pair<double, double> surveyed_m() const {
        std::pair<double, double> ends;
        detail::call(fw_lateral_surveyed, handle_.get(), &ends.first, &ends.second);
        return ends;
    }
    fallwise::answers answers(const rulebook *book = nullptr, const fw_solve_options *options = nullptr) const {
        fw_answers *handle = nullptr;
        detail::call(fw_lateral_answers, handle_.get(), book ? book->get() : nullptr, options, &handle);
        return fallwise::answers(handle);
    }
    table check(const rulebook *book = nullptr) const {
        fw_table *handle = nullptr;
        detail::call(fw_lateral_check, handle_.get(), book ? book->get() : nullptr,
                     static_cast<std::uint64_t *>(nullptr), &handle);
        return table(handle);
    }
    table pools(double tailwater_m) const {
        fw_table *handle = nullptr;
        detail::call(fw_lateral_pools, handle_.get(), tailwater_m, &handle);
        return table(handle);
    }
    const fw_lateral *get() const noexcept { return handle_.get(); }

  private:
    detail::owner<fw_lateral, fw_lateral_free> handle_;
};

// A job: everything that is known before anything is computed.
class job {
  public:
    job() : handle_(detail::made<owner>(fw_job_new)) {}
    static job from_file(std::string_view path) {
        return job(detail::made<owner>(fw_job_from_file, path.data(), path.size()));
    }
    static job from_toml(std::string_view text, const fw_job_options *options = nullptr) {
        return job(detail::made<owner>(fw_job_from_toml, text.data(), text.size(), options));
    }
    static job from_json(std::string_view text, const fw_job_options *options = nullptr) {
        return job(detail::made<owner>(fw_job_from_json, text.data(), text.size(), options));
    }
    job &add_run(const std::vector<double> &counter_m, const std::vector<double> &reading_rad,
                 fw_run like = detail::initial(fw_run_init)) {
        if (counter_m.size() != reading_rad.size()) {
            throw std::invalid_argument("counter_m and reading_rad differ in length");
        }
        like.counter_m = counter_m.data();
        like.reading_rad = reading_rad.data();
        like.count = counter_m.size();
        detail::call(fw_job_add_run, handle_.get(), &like);
        return *this;
    }
    job &add_standard_reach(double from_m, double to_m, std::string_view pipe_class, std::string_view size) {
        detail::call(fw_job_add_standard_reach, handle_.get(), static_cast<const char *>(nullptr), std::size_t(0),
                     from_m, to_m, pipe_class.data(), pipe_class.size(), size.data(), size.size());
        return *this;
    }
    job &set_instrument(const fw_instrument &instrument) {
        detail::call(fw_job_set_instrument, handle_.get(), &instrument);
        return *this;
    }
    job &set_json(std::string_view key, std::string_view json) {
        detail::call(fw_job_set_json, handle_.get(), key.data(), key.size(), json.data(), json.size());
        return *this;
    }
    job &add_json(std::string_view key, std::string_view json) {
        detail::call(fw_job_add_json, handle_.get(), key.data(), key.size(), json.data(), json.size());
        return *this;
    }
    lateral solve(const fw_solve_options *options = nullptr) const {
        fw_lateral *handle = nullptr;
        detail::call(fw_lateral_solve, handle_.get(), options, &handle);
        return lateral(handle);
    }
    fw_job *get() noexcept { return handle_.get(); }
    const fw_job *get() const noexcept { return handle_.get(); }

  private:
    using owner = detail::owner<fw_job, fw_job_free>;
    explicit job(owner handle) : handle_(std::move(handle)) {}
    owner handle_;
};

} // namespace fallwise

#endif // FALLWISE_HPP
