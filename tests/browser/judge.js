/* judge.js - what is wrong with how a page looks: each function returns a list of sentences
 *
 * Run in the page by the tests.  Limits are those of the Web Content Accessibility Guidelines 2.2
 * (https://www.w3.org/TR/WCAG22/): 1.4.3 contrast, 2.5.8 size of targets, 1.4.10 reflow.
 */
({
    CONTROLS: 'button, input, select, textarea, summary, a[href], [tabindex]:not([tabindex="-1"])',

    name(element) {
        const id = element.id ? '#' + element.id : '';
        const around = !id && element.closest('[id]');
        const text = (element.getAttribute('aria-label') || element.textContent || '').trim();
        return element.tagName.toLowerCase() + id + (around ? ` in #${around.id}` : '') +
            (text ? ` "${text.replace(/\s+/g, ' ').slice(0, 30)}"` : '');
    },

    isSeen(element) {
        return element.checkVisibility({opacityProperty: true, visibilityProperty: true}) &&
            element.getClientRects().length > 0;
    },

    seen(selector) {
        return [...document.querySelectorAll(selector)].filter(element => this.isSeen(element));
    },

    // Nothing stands out of the page sideways, unless it can be scrolled in a box of its own.
    overflow() {
        const width = document.documentElement.clientWidth;
        const wrongs = [];
        if (document.documentElement.scrollWidth > width)
            wrongs.push(`the page is ${document.documentElement.scrollWidth} px wide, not ${width}`);
        for (const element of this.seen('body *')) {
            const box = element.getBoundingClientRect();
            // A chooser cuts off its own text, which some versions of the browser count all the same.
            const shows = getComputedStyle(element).overflowX === 'visible' &&
                !(element instanceof SVGElement || element instanceof HTMLSelectElement);
            const inside = shows ? box.left + element.scrollWidth : 0;
            const right = Math.max(box.right, inside);
            if (box.width > 0 && right > width + 1 && !this.scroller(element.parentElement))
                wrongs.push(`${this.name(element)} ends at ${Math.round(right)} px`);
        }
        return wrongs;
    },

    // On a narrow screen a table is read without moving it sideways.
    widerThanScreen() {
        return this.seen('.scroll').filter(box => box.scrollWidth > box.clientWidth + 1)
            .map(box => `${this.name(box)} is ${box.scrollWidth} px wide, not ${box.clientWidth}`);
    },

    // A column that says the same in every row is no column; the first says what a row is about.
    uselessColumns() {
        return [...document.querySelectorAll('table')].flatMap(table => {
            const rows = [...table.tBodies[0].rows];
            return [...table.tHead.rows[0].cells].slice(1).filter((_, k) => rows.length > 1 &&
                new Set(rows.map(row => row.cells[k + 1].textContent)).size === 1)
                .map(head => `${head.textContent} of ${table.caption.textContent.slice(0, 40)}`);
        });
    },

    scroller(element) {
        for (; element && element !== document.body; element = element.parentElement)
            if (getComputedStyle(element).overflowX !== 'visible')
                return element;
        return null;
    },

    // Everything that is pressed is at least so large, its label included (WCAG 2.5.8).
    smallControls(least) {
        return this.seen(this.CONTROLS).filter(control => !this.isInText(control))
            .filter(control => control.tabIndex >= 0 && !(control instanceof SVGElement))
            .map(control => ({control, box: this.target(control)}))
            .filter(({box}) => box.width < least - 0.5 || box.height < least - 0.5)
            .map(({control, box}) => `${this.name(control)}: ${box.width.toFixed(1)} x ` +
                `${box.height.toFixed(1)} px`);
    },

    isInText(control) {
        return control.matches('a[href]') && getComputedStyle(control).display === 'inline';
    },

    target(control) {
        const boxes = [control, ...(control.labels || [])].map(one => one.getBoundingClientRect());
        const left = Math.min(...boxes.map(box => box.left));
        const top = Math.min(...boxes.map(box => box.top));
        const right = Math.max(...boxes.map(box => box.right));
        const bottom = Math.max(...boxes.map(box => box.bottom));
        return {left, top, width: right - left, height: bottom - top};
    },

    // Text stands out from what is behind it (WCAG 1.4.3): 4.5 : 1, large text 3 : 1.
    contrast() {
        const worst = new Map();
        const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
        for (let node = walker.nextNode(); node; node = walker.nextNode()) {
            const element = node.parentElement;
            if (!node.data.trim() || element.closest('script, style, title, desc') ||
                element.disabled || !this.isSeen(element))
                continue;
            const style = getComputedStyle(element);
            const isDrawn = element instanceof SVGElement;
            const behind = this.background(isDrawn ? element.closest('svg') : element);
            const ink = this.over(this.colour(isDrawn ? style.fill : style.color), behind);
            const ratio = this.ratio(ink, behind);
            const pixels = parseFloat(style.fontSize);
            const isLarge = pixels >= 24 || (pixels >= 18.66 && style.fontWeight >= 700);
            if (ratio < (isLarge ? 3 : 4.5))
                worst.set(`${this.name(element)}`, ratio);
        }
        return [...worst].map(([name, ratio]) => `${name}: ${ratio.toFixed(2)} : 1`);
    },

    // The colours of what is behind an element, laid over each other; white paper is at the bottom.
    background(element) {
        const layers = [];
        for (; element; element = element.parentElement)
            layers.push(this.colour(getComputedStyle(element).backgroundColor));
        const paper = matchMedia('(prefers-color-scheme: dark)').matches &&
            getComputedStyle(document.documentElement).colorScheme.includes('dark')
            ? [18, 18, 18, 1] : [255, 255, 255, 1];
        return layers.reduceRight((below, layer) => this.over(layer, below), paper);
    },

    // Any colour that CSS can write, as red, green, blue and opacity; painted, and looked at.
    colour(text) {
        this.known ??= new Map();
        if (!this.known.has(text)) {
            this.canvas ??= new OffscreenCanvas(1, 1).getContext('2d', {willReadFrequently: true});
            this.canvas.clearRect(0, 0, 1, 1);
            this.canvas.fillStyle = text;
            this.canvas.fillRect(0, 0, 1, 1);
            const [red, green, blue, alpha] = this.canvas.getImageData(0, 0, 1, 1).data;
            this.known.set(text, [red, green, blue, alpha / 255]);
        }
        return this.known.get(text);
    },

    over([red, green, blue, alpha], below) {
        return [red, green, blue].map((part, k) => part * alpha + below[k] * (1 - alpha)).concat(1);
    },

    // Contrast ratio and relative luminance as the guidelines define them.
    ratio(one, other) {
        const [dark, light] = [one, other].map(colour => this.luminance(colour)).sort((a, b) => a - b);
        return (light + 0.05) / (dark + 0.05);
    },

    luminance(colour) {
        const [red, green, blue] = colour.slice(0, 3).map(part => part / 255).map(
            part => part <= 0.04045 ? part / 12.92 : ((part + 0.055) / 1.055) ** 2.4);
        return 0.2126 * red + 0.7152 * green + 0.0722 * blue;
    },

    // Each picture says in words what it shows, or that it shows nothing.
    unnamedPictures() {
        return [...document.querySelectorAll('svg, img, canvas')].filter(picture => {
            // A picture in a picture is part of it.
            if (picture.closest('[aria-hidden="true"]') || picture.parentElement.closest('svg'))
                return false;
            const ids = (picture.getAttribute('aria-labelledby') || '').split(/\s+/).filter(Boolean);
            const name = picture.getAttribute('aria-label') || picture.getAttribute('alt') ||
                ids.map(id => document.getElementById(id)?.textContent).join(' ').trim() ||
                picture.querySelector(':scope > title')?.textContent;
            return !picture.getAttribute('role') || !name || !name.trim();
        }).map(picture => this.name(picture));
    },

    // No writing of a picture is cut off at its edge, or lies on other writing of its axis.
    spoiltText() {
        const wrongs = [];
        for (const picture of this.seen('main svg')) {
            const frame = picture.getBoundingClientRect();
            const texts = [...picture.querySelectorAll('text')]
                .filter(text => this.isSeen(text) && text.textContent.trim())
                .map(text => ({text, box: text.getBoundingClientRect()}))
                .filter(({box}) => box.width > 0);
            for (const {text, box} of texts)
                if (box.left < frame.left - 2 || box.right > frame.right + 2 ||
                    box.top < frame.top - 2 || box.bottom > frame.bottom + 2)
                    wrongs.push(`${this.name(text)} is cut off`);
            wrongs.push(...this.overlaps(texts));
        }
        return wrongs;
    },

    overlaps(texts) {
        const wrongs = [];
        texts.forEach((one, k) => texts.slice(k + 1).forEach(other => {
            const width = Math.min(one.box.right, other.box.right) -
                Math.max(one.box.left, other.box.left);
            const height = Math.min(one.box.bottom, other.box.bottom) -
                Math.max(one.box.top, other.box.top);
            if (width > 1 && height > 3)
                wrongs.push(`${this.name(one.text)} lies on ${this.name(other.text)}`);
        }));
        return wrongs;
    },

    // On paper nothing can be pressed, and nothing can be scrolled into view.
    unprintable() {
        const wrongs = this.seen('button, input, select, textarea').map(
            control => `${this.name(control)} is printed`);
        for (const element of this.seen('body *')) {
            const style = getComputedStyle(element);
            const wide = style.overflowX !== 'visible' && style.overflowX !== 'clip' &&
                element.scrollWidth > element.clientWidth + 1;
            const high = style.overflowY !== 'visible' && style.overflowY !== 'clip' &&
                element.scrollHeight > element.clientHeight + 1;
            if ((wide || high) && !(element instanceof SVGElement) && element.clientWidth > 1)
                wrongs.push(`${this.name(element)} is cut off: ${element.scrollWidth} of ` +
                    `${element.clientWidth} px wide, ${element.scrollHeight} of ` +
                    `${element.clientHeight} px high`);
        }
        return wrongs.concat(this.overflow());
    },
})
