"""What the chip is given to compute, in the OpenGL ES Shading Language.

Integers of ``highp`` have 32 bits, and what does not fit is cut off (GLSL ES 3.00, 4.1.3 and
4.5.3): each result has one right value, which ``_load.c`` computes on the processor. The
picture uses everything else, with results of the chip's own kind.

``spoilt`` is for tests: its bits spoil one word half-way, as a faulty chip would.
"""

from __future__ import annotations

from typing import Final

_STEP: Final = """
precision highp float; precision highp int;
uniform uint seed, rounds, spoilt;
uvec4 begun(uint pixel) {
    return (uvec4(pixel * 4u) + uvec4(1u, 2u, 3u, 4u)) * 0x9E3779B9u ^ uvec4(seed);
}
uvec4 mixed(uvec4 s, uint n) {
    s *= 0x85EBCA6Bu;
    return ((s << 13u) | (s >> 19u)) + uvec4(0xD1B54A33u ^ n);
}
uvec4 harmed(uvec4 s, uint pixel, uint n) {
    if (pixel == 4099u && n == rounds / 2u) s.y ^= spoilt;
    return s;
}
"""

WHOLE: Final = """#version 300 es
void main() {
    vec2 at = vec2(float(gl_VertexID & 1), float(gl_VertexID >> 1)) * 4.0 - 1.0;
    gl_Position = vec4(at, 0.0, 1.0);
}
"""
"""One triangle that covers everything."""

INTEGERS: Final = f"""#version 300 es
{_STEP}
uniform uint width;
out uvec4 made;
void main() {{
    uint pixel = uint(gl_FragCoord.y) * width + uint(gl_FragCoord.x);
    uvec4 s = begun(pixel);
    for (uint n = 0u; n < rounds; n++) s = mixed(harmed(s, pixel, n), n);
    made = s;
}}
"""

COMPUTE: Final = f"""#version 310 es
layout(local_size_x = 64) in;
{_STEP}
layout(std430, binding = 0) buffer Made {{ uvec4 made[]; }};
shared uvec4 passed[64];
void main() {{
    uint pixel = gl_GlobalInvocationID.x, me = gl_LocalInvocationID.x;
    uvec4 s = begun(pixel);
    for (uint n = 0u; n < rounds; n++) {{
        s = mixed(harmed(s, pixel, n), n);
        if ((n & 15u) == 15u) {{
            passed[me] = s;
            barrier();
            s = passed[me ^ 1u];
            barrier();
        }}
    }}
    made[pixel] = s;
}}
"""
"""The same values, handed to the neighbour and back through the memory that a group shares."""

TRIANGLES: Final = """#version 300 es
precision highp float; precision highp int;
out vec3 place;
void main() {
    uint h = (uint(gl_VertexID) + 1u) * 0x9E3779B9u;
    h = (h ^ (h >> 15u)) * 0x85EBCA6Bu;
    place = vec3(float(h & 1023u), float((h >> 10u) & 1023u), float(h >> 22u)) / 1023.0;
    gl_Position = vec4(place.xy * 2.4 - 1.2, place.z, 1.0);
}
"""

PICTURE: Final = """#version 300 es
precision highp float; precision highp int; precision highp sampler2D;
uniform sampler2D grain;
uniform uint rounds, spoilt;
in vec3 place;
out vec4 made;
void main() {
    vec2 at = place.xy;
    vec4 sum = vec4(0.0);
    for (uint n = 0u; n < rounds / 16u; n++) {
        sum += texture(grain, at);
        at = fract(at.yx + 0.37 * sin(at * 5.1) + sqrt(abs(sum.xy)));
    }
    if (spoilt != 0u && uvec2(gl_FragCoord.xy) == uvec2(300u, 200u)) sum += 0.5;
    made = vec4(fract(sum.xyz), 0.4);
}
"""
