// What the graphics processor is told. Two steps: the parts into a sheet of colours and a sheet of marks (which part, which way
// its surface looks), then both into the picture with a line wherever part or surface changes.

const HEAD = `#version 300 es
precision highp float;
precision highp int;
`;

const STAND = `
uniform vec4 place;   // x, y, z in mm, 1 or −1 for turned over
uniform vec4 turned;  // cosine and sine of the place's turn, of the member's turn
uniform mat3 axes;    // columns: right, up, to the eye
uniform vec3 middle;  // seen in the middle of the picture, mm
uniform vec3 scale;   // picture widths, heights and depths a mm
out vec3 at;
out vec3 normal;
vec3 spun(vec3 p, vec2 t) { return vec3(t.x * p.x - t.y * p.y, t.y * p.x + t.x * p.y, p.z); }
void stand(vec3 p, vec3 n) {
  vec3 over = vec3(1.0, place.w, place.w);
  at = spun(spun(p * over, turned.xy) + place.xyz, turned.zw);
  normal = spun(spun(n * over, turned.xy), turned.zw);
  gl_Position = vec4(vec3(1.0, 1.0, -1.0) * scale * ((at - middle) * axes), 1.0);
}
`;

export const STIFF = `${HEAD}${STAND}
layout(location = 0) in vec3 corner;
layout(location = 1) in vec4 own;
void main() { stand(corner, own.xyz); }
`;

// The ring is set on the neutral line: its label has run on by ride.x, the line has turned by ride.y, its circle is ride.z.
export const BENT = `${HEAD}${STAND}
layout(location = 0) in vec4 corner; // label, across, up, z
layout(location = 1) in vec4 own;    // normal along, outward, axial
layout(location = 2) in float share;
uniform sampler2D line;
uniform vec3 ride;
void main() {
  float label = corner.x + ride.x;
  int count = textureSize(line, 0).x;
  float far = fract(label / 6.283185307179586) * float(count);
  int k = min(int(far), count - 1);
  vec4 near = texelFetch(line, ivec2(k, 0), 0);
  vec4 off = share * mix(near, texelFetch(line, ivec2((k + 1) % count, 0), 0), far - float(k));
  vec2 out2 = vec2(cos(label + off.z), sin(label + off.z));
  vec2 along = vec2(-out2.y, out2.x);
  vec2 p = ride.z * vec2(cos(label), sin(label)) + off.xy + corner.z * out2 + corner.y * along;
  vec2 n = own.x * along + own.y * out2;
  vec2 g = vec2(cos(ride.y), sin(ride.y));
  stand(spun(vec3(p, corner.w), g), spun(vec3(n, own.z), g));
}
`;

// Parts are closed and do not run into one another. So where a ray meets the back of a surface first, a cut has opened the part
// before it: that pixel is the cut face, and it is hatched where the ray went through the plane.
export const SURFACE = `${HEAD}
in vec3 at;
in vec3 normal;
uniform mat3 axes;
uniform vec4 first;   // plane: normal, distance; what lies beyond it is taken away
uniform vec4 second;  // beyond both where cuts is 2
uniform int cuts;
uniform vec3 colour;
uniform vec3 paper;
uniform vec3 ink;
uniform vec3 hatch;   // cosine and sine of its lines, mm between them; 0 for none
uniform float line_mm;
uniform float lift;   // depth by which a cut face stands before what touches the part behind it
uniform vec2 mark;
layout(location = 0) out vec4 seen;
layout(location = 1) out vec4 sheet;
const vec3 LIGHT = vec3(0.2203, 0.6210, 0.7512);
void main() {
  float one = dot(first.xyz, at) - first.w;
  float two = cuts > 1 ? dot(second.xyz, at) - second.w : 1.0;
  if (cuts > 0 && one > 0.0 && two > 0.0) discard;
  gl_FragDepth = gl_FragCoord.z - (gl_FrontFacing ? 0.0 : lift);
  vec3 face;
  if (gl_FrontFacing || cuts == 0) {
    vec3 n = normalize(normal) * axes;
    if (!gl_FrontFacing) n = -n;
    face = n;
    seen = vec4(min(colour * (0.58 + 0.48 * max(dot(n, LIGHT), 0.0)), 1.0), 1.0);
  } else {
    vec3 eye = axes[2];
    float far = one > 0.0 ? -1.0 : -one / dot(first.xyz, eye);
    float other = cuts < 2 || two > 0.0 ? -1.0 : -two / dot(second.xyz, eye);
    bool by_second = other > far;
    vec3 cut = by_second ? second.xyz : first.xyz;
    vec3 q = at + eye * max(far, other);
    vec3 side = abs(cut.z) > 0.5 ? vec3(1.0, 0.0, 0.0) : vec3(-cut.y, cut.x, 0.0);
    vec2 flat_ = vec2(dot(q, side), dot(q, cross(cut, side)));
    vec3 body = mix(paper, colour, 0.62);
    float run = hatch.z > 0.0 ? abs(fract(dot(flat_, hatch.xy) / hatch.z) - 0.5) * hatch.z : 1e9;
    seen = vec4(run < line_mm ? mix(body, ink, 0.55) : body, 1.0);
    face = cut * axes;
  }
  sheet = vec4(mark, face.xy * 0.5 + 0.5);
}
`;

export const WHOLE = `${HEAD}
void main() { gl_Position = vec4(vec2(gl_VertexID & 1, gl_VertexID >> 1) * 4.0 - 1.0, 0.0, 1.0); }
`;

// Lines, and what is seen through laid over what is not. A line covers the pixels on both its sides and has the nearer one's ink.
export const PICTURE = `${HEAD}
uniform sampler2D colours, sheets, depths;        // what is not seen through
uniform sampler2D thin_colours, thin_sheets, thin_depths;
uniform vec3 paper, ink;
uniform float bend;  // depth by which a surface may depart from its neighbours' plane
out vec4 shown;
float differs(vec4 a, vec4 b) {
  return a.xy != b.xy || distance(a.zw, b.zw) > 0.26 ? 1.0 : 0.0;
}
float edge(sampler2D marks, sampler2D deep, ivec2 p) {
  ivec2 most = textureSize(marks, 0) - 1;
  ivec2 r = min(p + ivec2(1, 0), most), l = max(p - ivec2(1, 0), ivec2(0));
  ivec2 u = min(p + ivec2(0, 1), most), d = max(p - ivec2(0, 1), ivec2(0));
  vec4 here = texelFetch(marks, p, 0);
  vec4 mr = texelFetch(marks, r, 0), ml = texelFetch(marks, l, 0), mu = texelFetch(marks, u, 0), md = texelFetch(marks, d, 0);
  float found = max(max(differs(here, mr), differs(here, ml)), max(differs(here, mu), differs(here, md)));
  float z = texelFetch(deep, p, 0).r;
  float across = texelFetch(deep, r, 0).r + texelFetch(deep, l, 0).r - 2.0 * z;
  float upward = texelFetch(deep, u, 0).r + texelFetch(deep, d, 0).r - 2.0 * z;
  if (here.xy != vec2(0.0) && max(abs(across), abs(upward)) > bend) found = 1.0;
  return found;
}
void main() {
  ivec2 p = ivec2(gl_FragCoord.xy);
  vec4 body = texelFetch(colours, p, 0);
  vec3 found = mix(mix(paper, body.rgb, body.a), ink, 0.85 * edge(sheets, depths, p));
  if (texelFetch(thin_depths, p, 0).r < texelFetch(depths, p, 0).r) {
    vec4 veil = texelFetch(thin_colours, p, 0);
    found = mix(found, veil.rgb, 0.22 * veil.a);
  }
  if (texelFetch(thin_depths, p, 0).r <= texelFetch(depths, p, 0).r)
    found = mix(found, ink, 0.3 * edge(thin_sheets, thin_depths, p));
  shown = vec4(found, 1.0);
}
`;
