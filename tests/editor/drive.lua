-- Drives one conversation from inside the editor; the first step that fails ends it with an exit code.

local function fail(what)
  io.stderr:write("editor: " .. what .. "\n")
  vim.cmd("cquit 1")
end

local function await(what, condition)
  if not vim.wait(30000, condition, 10) then
    fail("waited in vain for " .. what)
  end
end

local function finding(code)
  for _, found in ipairs(vim.diagnostic.get(0)) do
    if found.code == code or (found.user_data and found.user_data.lsp and found.user_data.lsp.code == code) then
      return found
    end
  end
end

local function run()
  local heard, left = 0, nil
  local publish = vim.lsp.handlers["textDocument/publishDiagnostics"]
  local client = vim.lsp.start_client({
    cmd = { vim.env.LASTPLY, "editor" },
    root_dir = vim.fn.expand("%:p:h"),
    handlers = {
      ["textDocument/publishDiagnostics"] = function(...)
        heard = heard + 1
        return publish(...)
      end,
    },
    on_exit = function(code) left = code end,
  })
  vim.lsp.buf_attach_client(0, client)
  await("an answer to the opened program", function() return heard > 0 end)
  if finding("not-through") then fail("the clean program has a hole that is not through") end

  local row = vim.fn.search("^N420 ") - 1
  vim.api.nvim_buf_set_text(0, row, 5, row, 11, { "Z-40." })
  await("the finding typed in", function() return finding("not-through") ~= nil end)
  local found = finding("not-through")
  if found.lnum ~= row or found.col ~= 5 then fail("the finding stands at the wrong place") end

  vim.api.nvim_win_set_cursor(0, { row + 1, 5 })
  local place = vim.lsp.util.make_position_params()
  local shown = vim.lsp.buf_request_sync(0, "textDocument/hover", place, 30000)[client].result
  if not shown.contents.value:find("T11", 1, true) then fail("the hover does not name the tool") end

  local params = vim.lsp.util.make_range_params()
  params.context = { diagnostics = {} }
  local actions = vim.lsp.buf_request_sync(0, "textDocument/codeAction", params, 30000)[client].result
  local taken
  for _, action in ipairs(actions) do
    if action.title:find("not-through", 1, true) then taken = action end
  end
  if not taken then fail("no action is offered") end
  vim.lsp.util.apply_workspace_edit(taken.edit, "utf-16")
  await("the finding to go", function() return finding("not-through") == nil end)
  vim.cmd("write")

  vim.lsp.stop_client(client)
  await("the server to end", function() return left ~= nil end)
  if left ~= 0 then fail("the server ended with " .. left) end
end

local ok, why = pcall(run)
if not ok then fail(tostring(why)) end
vim.cmd("qall!")
