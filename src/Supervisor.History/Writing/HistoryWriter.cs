using Supervisor.History.Storage;

namespace Supervisor.History.Writing;

/// <summary>The one thread that writes: runs <see cref="WriterSteps"/> on the database, and waits where these say so.</summary>
internal sealed class HistoryWriter
{
    private readonly HistoryOptions _options;
    private readonly RecordQueue _queue;
    private readonly WriterSteps _steps;
    private readonly CheckThread _check;
    private readonly Thread _thread;
    private FileStream? _writerLock;

    public HistoryWriter(HistoryOptions options, RecordQueue queue)
    {
        _options = options;
        _queue = queue;
        _steps = new WriterSteps(options, queue, () => HistoryDatabase.Open(options, ref _writerLock));
        _check = new CheckThread(options, _steps.Condemn);
        _steps.Committed = _check.BeginIfDue;
        _thread = new Thread(Run) { Name = "history", IsBackground = true };
    }

    public HistoryHealth Health => _steps.Health;

    public void Start() => _thread.Start();

    /// <summary>Writes what is queued and ends the thread.</summary>
    /// <returns>False when it did not end in time; it then goes on in the background.</returns>
    public bool Stop(TimeSpan timeout)
    {
        _check.End();
        _steps.BeginStop();
        return _thread.Join(timeout);
    }

    private void Run()
    {
        try
        {
            while (Step())
            {
            }

            _steps.GiveUp(because: null);
        }
        catch (Exception exception)
        {
            // The history must never take the machine down with it.
            _steps.GiveUp(exception);
        }
        finally
        {
            _writerLock?.Dispose();
        }
    }

    private bool Step()
    {
        switch (_steps.Next())
        {
            case WriterStep.Wait:
                _queue.Wait();
                return true;
            case WriterStep.Linger:
                _queue.Linger(WriterSteps.BulkBatch, _steps.LingerTime);
                return true;
            case WriterStep.Pause:
                _options.Pause(_options.RetryInterval);
                return true;
            case WriterStep.End:
                return false;
            default:
                return true;
        }
    }
}
