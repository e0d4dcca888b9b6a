// Run in a chart's page: how many texts it has, and whose boxes leave the frame or touch one another.
// A box is what the browser has it: the font's ascent and descent, turned as the text is.
(() => {
  const root = document.documentElement, view = root.viewBox.baseVal;
  const texts = [...document.querySelectorAll("text")], faults = [];
  const corners = text => {
    const box = text.getBBox(), matrix = text.getCTM(), point = root.createSVGPoint();
    // A hair less, so that what only meets does not count.
    const inset = 0.1, x1 = box.x + inset, x2 = box.x + box.width - inset;
    const y1 = box.y + inset, y2 = box.y + box.height - inset;
    return [[x1, y1], [x2, y1], [x2, y2], [x1, y2]].map(([x, y]) => {
      point.x = x; point.y = y;
      return point.matrixTransform(matrix);
    });
  };
  // Separating axes: two convex shapes are apart if they are so along a normal of one of their sides.
  const spread = (shape, nx, ny) => {
    const along = shape.map(p => p.x * nx + p.y * ny);
    return [Math.min(...along), Math.max(...along)];
  };
  const apart = (a, b) => [a, b].some(shape => shape.some((p, i) => {
    const q = shape[(i + 1) % shape.length], nx = q.y - p.y, ny = p.x - q.x;
    const [low, high] = spread(a, nx, ny), [least, most] = spread(b, nx, ny);
    return high < least || most < low;
  }));
  const shapes = texts.map(corners);
  const name = i => JSON.stringify(texts[i].lastChild.textContent);
  shapes.forEach((shape, i) => {
    if (shape.some(p => p.x < 0 || p.y < 0 || p.x > view.width || p.y > view.height))
      faults.push(`${name(i)} leaves the frame`);
    for (let j = 0; j < i; j++)
      if (!apart(shape, shapes[j])) faults.push(`${name(i)} touches ${name(j)}`);
  });
  return [`${texts.length} texts`, ...faults].join("\n");
})()
