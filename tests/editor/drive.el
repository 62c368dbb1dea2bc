;; One conversation from inside the editor, set up as the README says; the first step that fails ends it with an exit code.
(package-initialize)
(load-file "init.el")
(require 'cl-lib)
(require 'eglot)
(setq eglot-sync-connect 30
      eglot-confirm-server-initiated-edits nil
      last-nonmenu-event ?\r)

(defun fail (what)
  (message "editor: %s" what)
  (kill-emacs 1))

(defun await (what holds)
  (let ((end (+ (float-time) 30)))
    (while (not (funcall holds))
      (when (> (float-time) end) (fail (concat "waited in vain for " what)))
      ;; Without a screen nothing is ever idle, which is when changes are sent.
      (when (eglot-managed-p) (eglot--signal-textDocument/didChange))
      (accept-process-output nil 0.05)
      (ignore-errors (flymake-start)))))

(defun finding (rule)
  (cl-find-if (lambda (one) (string-match-p (regexp-quote rule) (flymake-diagnostic-text one))) (flymake-diagnostics)))

(find-file (getenv "PROGRAM"))
(run-hooks 'post-command-hook)
(await "the server" #'eglot-managed-p)
(goto-char (point-min))
(search-forward "N420 ")
(let ((at (point)))
  (delete-char 6)
  (insert "Z-40.")
  (await "the finding typed in" (lambda () (finding "not-through")))
  (unless (= (flymake-diagnostic-beg (finding "not-through")) at) (fail "the finding stands at the wrong place"))
  (cl-letf (((symbol-function 'completing-read)
             (lambda (_prompt choices &rest _)
               (let ((titles (mapcar (lambda (one) (if (consp one) (car one) one)) choices)))
                 (or (cl-find-if (lambda (title) (string-match-p "not-through" title)) titles)
                     (fail "no action is offered"))))))
    (eglot-code-actions at (+ at 5) nil t))
  (await "the finding to go" (lambda () (not (finding "not-through"))))
  (save-buffer)
  (eglot-shutdown (eglot-current-server)))
