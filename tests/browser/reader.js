/* reader.js - what the report says, as the tests read it: by its sections, plots and controls */
({
    sections() {
        return [...document.querySelectorAll('section[id]')].map(section => section.id);
    },

    // Plots without a picture that draws something, and those without numbers.
    emptyPlots(names) {
        return names.flatMap(name => {
            const plot = document.getElementById(`plot-${name}`);
            if (!plot)
                return [`${name}: there is none`];
            const shapes = [...plot.querySelectorAll('svg path, svg rect, svg circle, svg line')]
                .filter(shape => shape.getBoundingClientRect().width +
                    shape.getBoundingClientRect().height > 2);
            const numbers = plot.querySelectorAll('table [data-value], table [data-values]');
            return (shapes.length < 3 ? [`${name}: draws ${shapes.length} shapes`] : [])
                .concat(numbers.length === 0 ? [`${name}: has no numbers`] : []);
        });
    },

    // Each number of a plot's tables: the value that it stands for, what is shown, and the headings
    // above and beside it.
    numbers(plot) {
        return [...document.querySelectorAll(`#plot-${plot} table`)].flatMap(table => {
            const grid = this.whole(table);
            return grid.flatMap((row, y) => row.flatMap((cell, x) => {
                if (cell.dataset.value === undefined || this.isRepeated(grid, cell, x, y))
                    return [];
                const above = grid.slice(0, y).map(one => one[x]).filter(one => one.tagName === 'TH');
                const beside = row.slice(0, x).filter(one => !one.matches('.number'));
                return [{value: cell.dataset.value, shown: cell.textContent.trim(),
                         column: this.texts(above), row: this.texts(beside),
                         caption: table.caption.textContent}];
            }));
        });
    },

    // With the columns that are said once, above the table, back in their places.
    whole(table) {
        const grid = this.grid(table);
        for (const said of table.caption.querySelectorAll('[data-at]'))
            grid.forEach((row, y) => row.splice(Number(said.dataset.at), 0, this.cell(said, y)));
        return grid;
    },

    cell(said, y) {
        const cell = document.createElement(y === 0 ? 'th' : 'td');
        cell.className = said.className;
        cell.textContent = y === 0 ? said.dataset.head
            : said.textContent.slice(said.dataset.head.length + 2);
        const value = y > 0 && said.dataset.values ? JSON.parse(said.dataset.values)[y - 1] : null;
        if (value !== null)
            cell.dataset.value = value;
        return cell;
    },

    texts(cells) {
        return [...new Set(cells)].map(cell => cell.textContent.trim());
    },

    isRepeated(grid, cell, x, y) {
        return (x > 0 && grid[y][x - 1] === cell) || (y > 0 && grid[y - 1][x] === cell);
    },

    // A table's cells by row and column; one that spans several stands at each.
    grid(table) {
        const grid = [...table.rows].map(() => []);
        [...table.rows].forEach((row, y) => {
            let x = 0;
            for (const cell of row.cells) {
                while (grid[y][x])
                    x++;
                for (let down = 0; down < cell.rowSpan; down++)
                    for (let across = 0; across < cell.colSpan; across++)
                        if (grid[y + down])
                            grid[y + down][x + across] = cell;
                x += cell.colSpan;
            }
        });
        return grid;
    },

    // What the answer says of each variant, line by line.
    changes() {
        return [...document.querySelectorAll('#answer dl.changes')].flatMap(list =>
            [...list.querySelectorAll('dd[data-verdict]')].map(line => ({
                variant: list.dataset.variant, verdict: line.dataset.verdict,
                text: line.textContent.replaceAll('\u2212', '-')})));
    },

    // What a part of the page looks like, to be compared with itself later.
    look(selector) {
        return [...document.querySelectorAll(selector)].map(one => one.outerHTML).join('\n');
    },

    text(selector) {
        return document.querySelector(selector)?.innerText ?? '';
    },
})
