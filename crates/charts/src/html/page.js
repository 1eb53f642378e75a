(function () {
  'use strict';
  var $ = function (id) { return document.getElementById(id); };
  var rows = Array.prototype.slice.call(document.querySelectorAll('#table tbody tr'));
  var bars = {}, followers = {}, panel = $('panel'), shown = null;
  document.documentElement.classList.add('scripted');
  document.querySelector('.tools').hidden = false;

  function target(link) { return link.getAttribute('href').slice(1); }

  document.querySelectorAll('a.b').forEach(function (bar) {
    var id = target(bar);
    (bars[id] = bars[id] || []).push(bar);
    bar.setAttribute('tabindex', '-1');
  });
  // One bar of each chart is in the tab order; the arrow keys move on from there.
  document.querySelectorAll('.set').forEach(function (set) {
    var first = set.querySelector('a.b');
    if (first) { first.setAttribute('tabindex', '0'); }
  });
  rows.forEach(function (row) {
    row.cells[9].querySelectorAll('a').forEach(function (link) {
      var id = target(link);
      (followers[id] = followers[id] || []).push(row.id);
    });
  });

  function mark(id, name, on) {
    (bars[id] || []).forEach(function (bar) { bar.classList.toggle(name, on); });
  }
  function related(id) {
    var before = Array.prototype.map.call($(id).cells[9].querySelectorAll('a'), target);
    return before.concat(followers[id] || []);
  }
  function line(parent, tag, said, name) {
    if (!said) { return; }
    var element = document.createElement(tag);
    element.textContent = said;
    if (name) { element.className = name; }
    parent.appendChild(element);
  }
  function show(id) {
    if (id === shown) { return; }
    hide();
    shown = id;
    var cells = $(id).cells, say = function (i) { return cells[i].textContent.trim(); };
    panel.textContent = '';
    line(panel, 'h3', say(0));
    line(panel, 'p', [say(3) + ' to ' + say(4), say(2), say(1), say(5), say(6),
      say(8) && 'slack ' + say(8)].filter(Boolean).join('  ·  '));
    line(panel, 'p', say(7), 'why');
    line(panel, 'p', say(9) && 'After ' + say(9));
    panel.hidden = false;
    mark(id, 'on', true);
    related(id).forEach(function (other) { mark(other, 'rel', true); });
  }
  function hide() {
    if (!shown) { return; }
    mark(shown, 'on', false);
    related(shown).forEach(function (other) { mark(other, 'rel', false); });
    shown = null;
    panel.hidden = true;
  }
  function barOf(event) {
    return event.target.closest ? event.target.closest('a.b') : null;
  }

  var main = document.querySelector('.sets');
  main.addEventListener('pointerover', function (event) {
    var bar = barOf(event);
    if (bar) { show(target(bar)); }
  });
  main.addEventListener('pointerout', function (event) {
    var focused = document.activeElement;
    if (!barOf(event)) { return; }
    if (focused && focused.matches('a.b')) { show(target(focused)); } else { hide(); }
  });
  main.addEventListener('focusin', function (event) {
    var bar = barOf(event);
    if (!bar) { hide(); return; }
    bar.closest('.set').querySelectorAll('a.b[tabindex="0"]').forEach(function (other) {
      other.setAttribute('tabindex', '-1');
    });
    bar.setAttribute('tabindex', '0');
    show(target(bar));
  });
  function neighbour(bar, key) {
    var lane = bar.closest('tr'), here = bar.getBoundingClientRect();
    var all = Array.prototype.slice.call(lane.querySelectorAll('a.b:not(.off)'));
    if (key === 'ArrowRight') { return all[all.indexOf(bar) + 1]; }
    if (key === 'ArrowLeft') { return all[all.indexOf(bar) - 1]; }
    var step = key === 'ArrowDown' ? 'nextElementSibling' : 'previousElementSibling';
    for (lane = lane[step]; lane; lane = lane[step]) {
      all = lane.hidden ? [] : Array.prototype.slice.call(
        lane.querySelectorAll('a.b:not(.off)'));
      if (all.length) {
        return all.reduce(function (best, one) {
          var far = function (b) { return Math.abs(b.getBoundingClientRect().left - here.left); };
          return far(one) < far(best) ? one : best;
        });
      }
    }
    return null;
  }
  main.addEventListener('keydown', function (event) {
    var bar = barOf(event);
    if (event.key === 'Escape') { hide(); }
    if (!bar || event.key.indexOf('Arrow') !== 0) { return; }
    var next = neighbour(bar, event.key);
    event.preventDefault();
    if (next) {
      next.focus();
      next.scrollIntoView({ block: 'nearest', inline: 'nearest' });
    }
  });

  var texts = rows.map(function (row) { return row.textContent.toLowerCase(); });
  function filter() {
    var words = $('find-job').value.toLowerCase().split(/\s+/).filter(Boolean), found = 0;
    rows.forEach(function (row, at) {
      var hit = words.every(function (word) { return texts[at].indexOf(word) >= 0; });
      row.hidden = !hit;
      mark(row.id, 'off', !hit);
      if (hit) { found += 1; }
    });
    document.querySelectorAll('.set tbody tr').forEach(function (lane) {
      lane.hidden = words.length > 0 && !lane.querySelector('a.b:not(.off)');
    });
    $('count').textContent = words.length ? found + ' of ' + rows.length + ' jobs' : '';
  }
  $('find-job').addEventListener('input', filter);
  filter();

  var heads = Array.prototype.slice.call(document.querySelectorAll('#table th'));
  function sortKey(row, column) {
    var time = row.cells[column].querySelector('time');
    return time ? time.dateTime : row.cells[column].textContent.trim().toLowerCase();
  }
  heads.forEach(function (head, column) {
    var button = document.createElement('button');
    button.type = 'button';
    button.textContent = head.textContent;
    // Browsers leave buttons out of a head that they repeat on paper.
    head.setAttribute('data-name', head.textContent);
    head.textContent = '';
    head.appendChild(button);
    button.addEventListener('click', function () {
      var down = head.getAttribute('aria-sort') === 'ascending';
      heads.forEach(function (other) { other.removeAttribute('aria-sort'); });
      head.setAttribute('aria-sort', down ? 'descending' : 'ascending');
      var body = rows.length ? rows[0].parentNode : null;
      rows.map(function (row, at) { return [sortKey(row, column), at, row]; })
        .sort(function (a, b) {
          var order = a[0] < b[0] ? -1 : a[0] > b[0] ? 1 : 0;
          return (down ? -order : order) || a[1] - b[1];
        })
        .forEach(function (entry) { body.appendChild(entry[2]); });
    });
  });

  $('print-all').addEventListener('click', function () { window.print(); });
  $('print-chart').addEventListener('click', function () {
    document.body.classList.add('chart-only');
    window.print();
  });
  window.addEventListener('afterprint', function () {
    document.body.classList.remove('chart-only');
  });
})();
