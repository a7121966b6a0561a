// A small path tracer for turned parts on a bench: training pictures in which chamfers mirror what is truly around them.
//
//   nvcc -O3 -Xcompiler -fPIC -shared -o tracer.so path_tracer.cu            (GPU)
//   g++ -O3 -march=native -fopenmp -shared -fPIC -x c++ -o tracer.so path_tracer.cu   (CPU)
//
// One C function, `render`. Lengths in mm, bench at z = 0, z up. The layout of the arrays is that of traced.py.
#include <cmath>
#include <cstdint>
#ifdef __CUDACC__
#define HD __host__ __device__
#else
#define HD
#endif

struct V { float x, y, z; };
HD inline V v(float x, float y, float z) { V r = {x, y, z}; return r; }
HD inline V operator+(V a, V b) { return v(a.x + b.x, a.y + b.y, a.z + b.z); }
HD inline V operator-(V a, V b) { return v(a.x - b.x, a.y - b.y, a.z - b.z); }
HD inline V operator*(V a, float s) { return v(a.x * s, a.y * s, a.z * s); }
HD inline V operator*(V a, V b) { return v(a.x * b.x, a.y * b.y, a.z * b.z); }
HD inline float dot(V a, V b) { return a.x * b.x + a.y * b.y + a.z * b.z; }
HD inline V cross(V a, V b) { return v(a.y * b.z - a.z * b.y, a.z * b.x - a.x * b.z, a.x * b.y - a.y * b.x); }
HD inline V unit(V a) { return a * (1.0f / sqrtf(fmaxf(dot(a, a), 1e-20f))); }
HD inline V mirrored(V d, V n) { return d - n * (2.0f * dot(d, n)); }

const int MOST_PIECES = 64, MOST_BODIES = 4, MOST_LAMPS = 4, MOST_LOBES = 6, MATERIALS = 15;
struct Piece { float r0, z0, r1, z1, nr0, nz0, nr1, nz1, material, open; };
struct Material { V rgb; float metal, across, along, lines, lines_per_mm, haze, gloss; };
struct Body { float x, y, radius, height, first, count; };
struct Lamp { V middle, half_u, half_v, radiance; };
struct Lobe { V way; float sharp; V light; };
struct Scene {
    V eye, right, down, forward;
    float focal_px, cx, cy, lens_mm, focus_mm, reach_px;
    float bodies, balls, ball_pitch, ball_z, ball_radius, ball_turn;
    float bench, bench_turn, bench_x, bench_y, bench_gloss, bench_metal, bench_across, bench_along;
    float card, card_x, card_y, card_turn;
    float lamps, lobes, phone_u, phone_v;
    float glyph_low, glyph_high, glyph_count, glyph_start, glyph_light, glyph_seed;
    float mark, mark_metal, mark_spread, mark_share, mark_relief; V mark_rgb;
    V ambient; V ground;
    Body body[MOST_BODIES]; Lamp lamp[MOST_LAMPS]; Lobe lobe[MOST_LOBES];
    Material material[MATERIALS]; Piece piece[MOST_PIECES];
};
const int TILE = 1024;
const int MARK_COLUMNS = 4096, MARK_ROWS = 64;  // one turn; rows from glyph_high inwards to glyph_low
const float COARSE_MM = 420.0f, FINE_MM = 42.0f, FAR = 1e30f;

HD inline uint32_t mixed(uint32_t h) {
    h ^= h >> 16; h *= 0x7feb352dU; h ^= h >> 15; h *= 0x846ca68bU; return h ^ (h >> 16);
}
struct Dice {
    uint32_t s;
    HD float next() { s = s * 747796405U + 2891336453U; uint32_t w = ((s >> ((s >> 28) + 4)) ^ s) * 277803737U;
                      return ((w >> 22) ^ w) * 2.3283064e-10f; }
    HD void bell(float &a, float &b) { float r = sqrtf(-2.0f * logf(fmaxf(next(), 1e-9f))), t = 6.2831853f * next();
                                       a = r * cosf(t); b = r * sinf(t); }
};
HD inline float lattice(int x, int y, uint32_t seed) {
    return mixed((uint32_t)x * 73856093U ^ (uint32_t)y * 19349663U ^ seed) * 4.6566129e-10f - 1.0f;
}
HD float grain(float x, float y, uint32_t seed) {
    float fx = floorf(x), fy = floorf(y), u = x - fx, w = y - fy;
    int i = (int)fx, j = (int)fy;
    u = u * u * (3 - 2 * u); w = w * w * (3 - 2 * w);
    float a = lattice(i, j, seed), b = lattice(i + 1, j, seed), c = lattice(i, j + 1, seed), d = lattice(i + 1, j + 1, seed);
    return (a + (b - a) * u) * (1 - w) + (c + (d - c) * u) * w;
}

struct Hit { float t; int kind, index, body; };  // kind 0 nothing, 1 bench, 2 piece, 3 ball

HD void meet_pieces(const Scene &s, int b, V o, V d, Hit &hit) {
    const Body &body = s.body[b];
    o.x -= body.x; o.y -= body.y;
    float lead = -dot(o, d) + 0.5f * body.height * d.z;  // start beside the body: keeps the squares small
    V p = o + d * lead;
    float middle = p.z - 0.5f * body.height, bound = body.radius * body.radius + 0.25f * body.height * body.height;
    if (p.x * p.x + p.y * p.y + middle * middle > bound * 1.02f) return;
    float dd = d.x * d.x + d.y * d.y, pd = p.x * d.x + p.y * d.y, pp = p.x * p.x + p.y * p.y;
    int last = (int)(body.first + body.count);
    for (int i = (int)body.first; i < last; ++i) {
        const Piece &q = s.piece[i];
        float rise = q.z1 - q.z0;
        if (fabsf(rise) < 1e-5f) {
            if (fabsf(d.z) < 1e-7f) continue;
            float t = (q.z0 - p.z) / d.z, square = pp + t * (2 * pd + t * dd);
            float low = fminf(q.r0, q.r1), high = fmaxf(q.r0, q.r1);
            if (square >= low * low && square <= high * high && t + lead > 1e-3f && t + lead < hit.t) {
                hit.t = t + lead; hit.kind = 2; hit.index = i; hit.body = b;
            }
            continue;
        }
        float slope = (q.r1 - q.r0) / rise, at = q.r0 + slope * (p.z - q.z0);
        float a2 = dd - slope * slope * d.z * d.z, b2 = pd - slope * d.z * at, c2 = pp - at * at;
        float under = b2 * b2 - a2 * c2;
        if (under < 0 || fabsf(a2) < 1e-9f) continue;
        float root = sqrtf(under), low = fminf(q.z0, q.z1), high = fmaxf(q.z0, q.z1);
        for (int k = -1; k < 2; k += 2) {
            float t = (-b2 + k * root) / a2, z = p.z + t * d.z;
            if (z >= low && z <= high && at + slope * t * d.z >= 0 && t + lead > 1e-3f && t + lead < hit.t) {
                hit.t = t + lead; hit.kind = 2; hit.index = i; hit.body = b;
            }
        }
    }
}

HD Hit meet(const Scene &s, V o, V d) {
    Hit hit = {FAR, 0, 0, 0};
    if (d.z < -1e-6f) { hit.t = -o.z / d.z; hit.kind = hit.t > 1e-3f ? 1 : 0; if (!hit.kind) hit.t = FAR; }
    for (int b = 0; b < (int)s.bodies; ++b) meet_pieces(s, b, o, d, hit);
    for (int k = 0; k < (int)s.balls; ++k) {
        float turn = s.ball_turn + 6.2831853f * k / s.balls;
        V away = o - v(s.ball_pitch * cosf(turn), s.ball_pitch * sinf(turn), s.ball_z);
        float half = dot(away, d), under = half * half - dot(away, away) + s.ball_radius * s.ball_radius;
        if (under < 0) continue;
        float t = -half - sqrtf(under);
        if (t > 1e-3f && t < hit.t) { hit.t = t; hit.kind = 3; hit.index = k; }
    }
    return hit;
}

struct Spot { V point, normal, across, along, rgb; float metal, sa, sb, gloss; };

HD V tile(const float *picture, float u, float w, int channels, int c) {
    u -= floorf(u / TILE) * TILE; w -= floorf(w / TILE) * TILE;
    int i = (int)u % TILE, j = (int)w % TILE, k = (i + 1) % TILE, l = (j + 1) % TILE;
    float fu = u - floorf(u), fw = w - floorf(w);
    float value[3];
    for (int n = 0; n < c; ++n) {
        float a = picture[(j * TILE + i) * channels + n], b = picture[(j * TILE + k) * channels + n];
        float e = picture[(l * TILE + i) * channels + n], f = picture[(l * TILE + k) * channels + n];
        value[n] = (a + (b - a) * fu) * (1 - fw) + (e + (f - e) * fu) * fw;
    }
    return c == 3 ? v(value[0], value[1], value[2]) : v(value[0], value[0], value[0]);
}

HD Spot bench_spot(const Scene &s, const float *coarse, const float *fine, V p) {
    float c = cosf(s.bench_turn), w = sinf(s.bench_turn);
    float x = p.x * c + p.y * w + s.bench_x, y = -p.x * w + p.y * c + s.bench_y;
    size_t n = (size_t)s.bench * TILE * TILE;
    Spot spot;
    spot.rgb = tile(coarse + 3 * n, x * (TILE / COARSE_MM), y * (TILE / COARSE_MM), 3, 3)
             * tile(fine + n, x * (TILE / FINE_MM), y * (TILE / FINE_MM), 1, 1);
    spot.point = p; spot.normal = v(0, 0, 1); spot.along = v(c, w, 0); spot.across = v(-w, c, 0);
    spot.metal = s.bench_metal; spot.sa = s.bench_across; spot.sb = s.bench_along; spot.gloss = s.bench_gloss;
    if (s.card > 0) {
        float k = cosf(s.card_turn), m = sinf(s.card_turn);
        float u = (p.x - s.card_x) * k + (p.y - s.card_y) * m, t = -(p.x - s.card_x) * m + (p.y - s.card_y) * k;
        if (fabsf(u) < 41 && fabsf(t) < 31) {
            float du = fabsf(fabsf(u) - 30), dt = fabsf(fabsf(t) - 20), white = 0.75f;
            if (du < 6 && dt < 6) white = lattice((int)floorf(u / 2), (int)floorf(t / 2), 7) > 0.2f && du < 4 && dt < 4 ? 0.75f : 0.03f;
            spot.rgb = v(white, white, white); spot.metal = 0; spot.gloss = 0.2f; spot.sa = spot.sb = 0.2f;
        }
    }
    return spot;
}

HD Spot ball_spot(const Scene &s, int k, V p) {
    float turn = s.ball_turn + 6.2831853f * k / s.balls;
    Spot spot;
    spot.normal = unit(p - v(s.ball_pitch * cosf(turn), s.ball_pitch * sinf(turn), s.ball_z));
    spot.point = p; spot.across = unit(cross(spot.normal, v(0.3f, 0.5f, 0.8f))); spot.along = cross(spot.normal, spot.across);
    spot.rgb = v(0.62f, 0.61f, 0.6f); spot.metal = 1; spot.sa = spot.sb = 0.015f; spot.gloss = 0;
    return spot;
}

HD float ink(const uint8_t *strip, float column, float row) {
    if (row < 0 || row > MARK_ROWS - 1) return 0;
    int i = (int)floorf(column), j = (int)row, k = j + 1 < MARK_ROWS ? j + 1 : j;
    float fu = column - i, fw = row - j;
    i = (i % MARK_COLUMNS + MARK_COLUMNS) % MARK_COLUMNS;
    int l = (i + 1) % MARK_COLUMNS;
    const uint8_t *a = strip + j * MARK_COLUMNS, *b = strip + k * MARK_COLUMNS;
    return ((a[i] + (a[l] - a[i]) * fu) * (1 - fw) + (b[i] + (b[l] - b[i]) * fu) * fw) * (1 / 255.0f);
}

// Real text: another surface where the ink is, and flanks where it is pressed in (relief: depth in mm times 255 / ink).
HD void marked(const Scene &s, const uint8_t *marks, float r, float angle, Spot &spot) {
    if (r < s.glyph_low || r > s.glyph_high) return;
    const uint8_t *strip = marks + (size_t)(s.mark - 1) * MARK_COLUMNS * MARK_ROWS;
    float column = -angle * (MARK_COLUMNS / 6.2831853f), row = (s.glyph_high - r) / (s.glyph_high - s.glyph_low) * MARK_ROWS - 0.5f;
    float share = ink(strip, column, row) * s.mark_share;
    spot.rgb = spot.rgb * (1 - share) + s.mark_rgb * share;
    spot.metal += (s.mark_metal - spot.metal) * share;
    spot.sa += fmaxf(s.mark_spread - spot.sa, 0.0f) * share;
    spot.sb += fmaxf(s.mark_spread - spot.sb, 0.0f) * share;
    if (s.mark_relief == 0) return;
    float mm_a_column = 6.2831853f * r / MARK_COLUMNS, mm_a_row = (s.glyph_high - s.glyph_low) / MARK_ROWS;
    float along = (ink(strip, column + 1, row) - ink(strip, column - 1, row)) / (2 * mm_a_column);  // clockwise
    float inward = (ink(strip, column, row + 1) - ink(strip, column, row - 1)) / (2 * mm_a_row);
    spot.normal = unit(spot.normal + spot.along * (-s.mark_relief * along) + spot.across * (-s.mark_relief * inward));
}

HD void engraved(const Scene &s, float r, float angle, Spot &spot) {
    if (s.glyph_count < 1 || r < s.glyph_low || r > s.glyph_high) return;
    float turn = (angle - s.glyph_start) / 6.2831853f;
    turn -= floorf(turn);
    float tall = s.glyph_high - s.glyph_low, cell = turn * 6.2831853f * 0.5f * (s.glyph_low + s.glyph_high) / (0.75f * tall);
    if (cell > s.glyph_count) return;
    int letter = (int)floorf(cell), column = (int)floorf((cell - letter) * 6), row = (int)floorf((r - s.glyph_low) / tall * 7);
    if (column > 3 || lattice(letter, 99, (uint32_t)s.glyph_seed) > 0.7f) return;
    bool stroke = lattice(letter * 31 + column / 2, row / 2, (uint32_t)s.glyph_seed + 5) > 0.0f || column == 0;
    if (!stroke) return;
    spot.rgb = spot.rgb * s.glyph_light; spot.sa = fmaxf(spot.sa, 0.25f); spot.sb = fmaxf(spot.sb, 0.25f);
}

HD Spot piece_spot(const Scene &s, const uint8_t *marks, const Hit &hit, V p) {
    const Piece &q = s.piece[hit.index];
    const Body &body = s.body[hit.body];
    const Material &m = s.material[(int)q.material];
    float x = p.x - body.x, y = p.y - body.y, r = sqrtf(fmaxf(x * x + y * y, 1e-12f)), angle = atan2f(y, x);
    float step_r = q.r1 - q.r0, step_z = q.z1 - q.z0;
    float share = ((r - q.r0) * step_r + (p.z - q.z0) * step_z) / fmaxf(step_r * step_r + step_z * step_z, 1e-12f);
    share = fminf(fmaxf(share, 0.0f), 1.0f);
    float nr = q.nr0 + (q.nr1 - q.nr0) * share, nz = q.nz0 + (q.nz1 - q.nz0) * share;
    float size = 1.0f / sqrtf(fmaxf(nr * nr + nz * nz, 1e-12f));
    nr *= size; nz *= size;
    V out = v(x / r, y / r, 0);
    uint32_t seed = (uint32_t)s.glyph_seed * 131U + (uint32_t)q.material;
    float line = grain((r + p.z) * m.lines_per_mm, 2.0f * cosf(angle + 0.3f * q.material), seed);
    float smear = 0.6f * grain(x * 0.35f, y * 0.35f + p.z, seed + 1) + 0.4f * grain(x * 1.7f, y * 1.7f + p.z, seed + 2);
    Spot spot;
    spot.point = p;
    spot.across = v(out.x * nz, out.y * nz, -nr);
    spot.along = v(-out.y, out.x, 0);
    spot.normal = unit(v(out.x * nr, out.y * nr, nz) + spot.across * (m.lines * line));
    spot.rgb = m.rgb * fmaxf(1 + m.haze * smear + 0.3f * m.haze * line, 0.05f);
    spot.metal = m.metal; spot.gloss = m.gloss;
    float dull = fmaxf(1 + 1.5f * m.haze * smear, 0.3f);
    spot.sa = m.across * dull; spot.sb = m.along * dull;
    if (hit.body) return spot;
    int surface = (int)q.material;
    if (s.mark > 0) {
        if (surface == 1 || surface == 9 || surface == 10) marked(s, marks, r, angle, spot);
    } else if (surface == 1 || surface == 9) engraved(s, r, angle, spot);
    return spot;
}

HD V room(const Scene &s, V o, V d, float most_lamp, int lamps) {
    V light = s.ambient * (0.75f + 0.25f * d.z);
    for (int i = 0; i < (int)s.lobes; ++i) light = light + s.lobe[i].light * expf(s.lobe[i].sharp * (dot(d, s.lobe[i].way) - 1));
    float before = FAR;
    if (s.phone_u > 0) {  // the phone that takes the picture hides what is behind it
        float t = dot(s.eye - o, s.forward) / dot(d, s.forward);
        V at = o + d * t - s.eye;
        if (t > 0 && fabsf(dot(at, s.right)) < s.phone_u && fabsf(dot(at, s.down) - 0.3f * s.phone_v) < s.phone_v) {
            light = s.ambient * 0.08f; before = t;
        }
    }
    if (most_lamp <= 0) return light;
    for (int i = 0; i < (int)s.lamps; ++i) {
        if (!(lamps >> i & 1)) continue;
        const Lamp &l = s.lamp[i];
        V n = cross(l.half_u, l.half_v);
        float down = dot(d, n);
        if (fabsf(down) < 1e-9f) continue;
        float t = dot(l.middle - o, n) / down;
        if (t <= 0 || t > before) continue;
        V at = o + d * t - l.middle;
        float a = dot(at, l.half_u) / dot(l.half_u, l.half_u), b = dot(at, l.half_v) / dot(l.half_v, l.half_v);
        if (fabsf(a) < 1 && fabsf(b) < 1) light = light + l.radiance * fminf(1.0f, most_lamp / fmaxf(l.radiance.y, 1e-6f));
    }
    return light;
}

HD V lamp_light(const Scene &s, const Spot &spot, Dice &dice) {
    if (s.lamps < 1) return v(0, 0, 0);
    const Lamp &l = s.lamp[(int)fminf(dice.next() * s.lamps, s.lamps - 1)];
    V way = l.middle + l.half_u * (2 * dice.next() - 1) + l.half_v * (2 * dice.next() - 1) - spot.point;
    float square = dot(way, way), far = sqrtf(square);
    way = way * (1 / far);
    V n = cross(l.half_u, l.half_v);
    float size = sqrtf(dot(n, n)), facing = dot(spot.normal, way), turned = fabsf(dot(n, way)) / size;
    if (facing <= 0) return v(0, 0, 0);
    Hit hit = meet(s, spot.point + spot.normal * 1e-3f, way);
    if (hit.kind && hit.t < far) return v(0, 0, 0);
    return l.radiance * (s.lamps * 4 * size * facing * turned / (square * 3.1415927f));
}

HD float lobe(const Spot &spot, V d, V way, float wide) {  // density of mirrored directions, per steradian
    V h = unit(way - d);
    float up = dot(h, spot.normal);
    if (up < 0.05f) return 0;
    float a = dot(h, spot.across) / (up * spot.sa * wide), b = dot(h, spot.along) / (up * spot.sb * wide);
    return expf(-0.5f * (a * a + b * b)) / (6.2831853f * spot.sa * spot.sb * wide * wide * up * up * up * 4 * fmaxf(-dot(d, h), 0.02f));
}

// Lamps smaller than the highlight are aimed at; `left` tells which are left to be met by chance.
HD V highlights(const Scene &s, const Spot &spot, V o, V d, float most_lamp, Dice &dice, int &left) {
    V light = v(0, 0, 0);
    for (int i = 0; i < (int)s.lamps; ++i) {
        const Lamp &l = s.lamp[i];
        V n = cross(l.half_u, l.half_v), away = l.middle - o;
        float square = dot(away, away);
        float angle = 4 * fabsf(dot(n, away)) / (square * sqrtf(square));
        if (angle > 25 * spot.sa * spot.sb) { left |= 1 << i; continue; }
        V way = away + l.half_u * (2 * dice.next() - 1) + l.half_v * (2 * dice.next() - 1);
        square = dot(way, way);
        float far = sqrtf(square);
        way = way * (1 / far);
        if (dot(way, spot.normal) <= 0.001f) continue;
        float density = 0.85f * lobe(spot, d, way, 1) + 0.15f * lobe(spot, d, way, 3);
        float share = density * 4 * fabsf(dot(n, way)) / square * fminf(1.0f, most_lamp / fmaxf(l.radiance.y, 1e-6f));
        if (share * l.radiance.y < 2e-3f) continue;
        Hit hit = meet(s, o, way);
        if (!hit.kind || hit.t > far) light = light + l.radiance * share;
    }
    return light;
}

HD V path(const Scene &s, const float *coarse, const float *fine, const uint8_t *marks, V o, V d, Dice &dice) {
    V light = v(0, 0, 0), carried = v(1, 1, 1);
    float most_lamp = FAR;
    bool scattered = false;
    int lamps = 15;
    for (int bounce = 0; bounce < 6; ++bounce) {
        Hit hit = meet(s, o, d);
        if (!hit.kind) { light = light + carried * room(s, o, d, most_lamp, lamps); break; }
        V p = o + d * hit.t;
        Spot spot = hit.kind == 1 ? bench_spot(s, coarse, fine, p) : hit.kind == 2 ? piece_spot(s, marks, hit, p) : ball_spot(s, hit.index, p);
        if (dot(spot.normal, d) > 0) spot.normal = spot.normal * -1.0f;
        float facing = fminf(fmaxf(-dot(spot.normal, d), 0.0f), 1.0f), graze = 1 - facing;
        float mirror = (0.04f + 0.7f * graze * graze * graze * graze * graze) * spot.gloss;
        float chance = spot.metal + (1 - spot.metal) * fmaxf(mirror, spot.gloss > 0 ? 0.2f : 0.0f);
        o = spot.point + spot.normal * 1e-3f;
        if (dice.next() < chance) {
            float a, b, wide = dice.next() < 0.15f ? 3.0f : 1.0f;
            float grazing = spot.metal < 1 ? 0.0f : spot.gloss * graze * graze * graze * graze * graze;
            V tint = (spot.rgb * (1 - grazing) + v(grazing, grazing, grazing)) * spot.metal + v(1, 1, 1) * ((1 - spot.metal) * mirror);
            carried = carried * tint * (1 / chance);
            most_lamp = scattered ? 2.0f : FAR;  // light that steel throws on the bench, without its sparks
            lamps = 0;
            light = light + carried * highlights(s, spot, o, d, most_lamp, dice, lamps);
            dice.bell(a, b);
            V n = unit(spot.normal + spot.across * (a * spot.sa * wide) + spot.along * (b * spot.sb * wide));
            d = unit(mirrored(d, n));
            if (dot(d, spot.normal) <= 0.001f) break;
        } else {
            carried = carried * spot.rgb * ((1 - spot.metal) * (1 - mirror) / (1 - chance));
            light = light + carried * lamp_light(s, spot, dice);
            float r = sqrtf(dice.next()), t = 6.2831853f * dice.next();
            V u = unit(cross(spot.normal, fabsf(spot.normal.z) < 0.9f ? v(0, 0, 1) : v(1, 0, 0))), w = cross(spot.normal, u);
            d = unit(u * (r * cosf(t)) + w * (r * sinf(t)) + spot.normal * sqrtf(fmaxf(1 - r * r, 0.0f)));
            most_lamp = 0; scattered = true;
        }
        float most = fmaxf(carried.x, fmaxf(carried.y, carried.z));
        if (most < 0.01f) break;
    }
    float most = fmaxf(light.x, fmaxf(light.y, light.z));
    return most > 8.0f ? light * (8.0f / most) : light;
}

HD void pixel(const Scene &s, const float *coarse, const float *fine, const uint8_t *marks, int samples, const uint8_t *counts, uint32_t seed,
              int x, int y, float *out) {
    V sum = v(0, 0, 0);
    Dice dice = {mixed(seed ^ mixed((uint32_t)(y * 65536 + x)))};
    float away_x = x - s.cx, away_y = y - s.cy;
    bool near = away_x * away_x + away_y * away_y < s.reach_px * s.reach_px;
    int count = counts ? *counts : near ? samples : (samples + 3) / 4;
    if (!count) { out[0] = out[1] = out[2] = 0; return; }
    for (int i = 0; i < count; ++i) {
        float u = (away_x + dice.next() - 0.5f) / s.focal_px, w = (away_y + dice.next() - 0.5f) / s.focal_px;
        V d = s.right * u + s.down * w + s.forward, o = s.eye;
        if (s.lens_mm > 0) {
            float r = s.lens_mm * sqrtf(dice.next()), t = 6.2831853f * dice.next();
            V shift = s.right * (r * cosf(t)) + s.down * (r * sinf(t));
            d = d * s.focus_mm - shift; o = o + shift;
        }
        sum = sum + path(s, coarse, fine, marks, o, unit(d), dice);
    }
    float share = 1.0f / count;
    out[0] = sum.x * share; out[1] = sum.y * share; out[2] = sum.z * share;
}

#ifdef __CUDACC__
__global__ void kernel(const Scene *scenes, const float *coarse, const float *fine, const uint8_t *marks, int side,
                       int samples, const uint8_t *counts, uint32_t seed, float *out) {
    int x = blockIdx.x * blockDim.x + threadIdx.x, y = blockIdx.y * blockDim.y + threadIdx.y, k = blockIdx.z;
    size_t at = ((size_t)k * side + y) * side + x;
    if (x < side && y < side)
        pixel(scenes[k], coarse, fine, marks, samples, counts ? counts + at : nullptr, seed + k * 7919U, x, y, out + at * 3);
}
template <class T> static T *kept(const T *from, size_t n, T *&at, size_t &room) {
    if (room < n) { cudaFree(at); cudaMalloc(&at, n * sizeof(T)); room = n; }
    if (from) cudaMemcpy(at, from, n * sizeof(T), cudaMemcpyDefault);
    return at;
}
#endif

// scenes (n), coarse (benches, TILE, TILE, 3), fine (benches, TILE, TILE), counts (n, side, side) paths a pixel or null
// (then `samples` near the part, a quarter elsewhere), out (n, side, side, 3); the benches are copied to the GPU on the
// first call only; counts and out may lie there already. marks (strips, MARK_ROWS, MARK_COLUMNS) uint8: the texts that
// the scenes' `mark` numbers from 1.
extern "C" int render(const float *scenes, int n, const float *coarse, const float *fine, int benches, int side, int samples,
                      const uint8_t *counts, uint32_t seed, float *out, const uint8_t *marks, int strips) {
#ifdef __CUDACC__
    static Scene *at = nullptr; static float *c = nullptr, *f = nullptr, *o = nullptr;
    static uint8_t *m = nullptr, *t = nullptr;
    static size_t at_room = 0, c_room = 0, f_room = 0, o_room = 0, m_room = 0, t_room = 0;
    size_t tiles = (size_t)benches * TILE * TILE;
    if (!c_room) { kept(coarse, tiles * 3, c, c_room); kept(fine, tiles, f, f_room); }
    kept((const Scene *)scenes, (size_t)n, at, at_room);
    kept((const float *)nullptr, (size_t)n * side * side * 3, o, o_room);
    if (counts) kept(counts, (size_t)n * side * side, m, m_room);
    if (strips) kept(marks, (size_t)strips * MARK_COLUMNS * MARK_ROWS, t, t_room);
    dim3 block(16, 8), grid((side + 15) / 16, (side + 7) / 8, n);
    kernel<<<grid, block>>>(at, c, f, t, side, samples, counts ? m : nullptr, seed, o);
    cudaError_t fault = cudaMemcpy(out, o, (size_t)n * side * side * 3 * sizeof(float), cudaMemcpyDefault);
    return fault == cudaSuccess ? 0 : (int)fault;
#else
    for (int k = 0; k < n; ++k) {
#pragma omp parallel for schedule(dynamic, 4)
        for (int y = 0; y < side; ++y)
            for (int x = 0; x < side; ++x) {
                size_t at = ((size_t)k * side + y) * side + x;
                pixel(((const Scene *)scenes)[k], coarse, fine, marks, samples, counts ? counts + at : nullptr, seed + k * 7919U,
                      x, y, out + at * 3);
            }
    }
    return 0;
#endif
}
extern "C" int scene_floats() { return (int)(sizeof(Scene) / sizeof(float)); }
