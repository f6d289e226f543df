using System.Text;

namespace Supervisor.Storm;

/// <summary>Notes what was acknowledged, a line each: <c>COMMAND-ID SEQUENCE</c>. A line is one write, without a buffer in the process.</summary>
internal sealed class AcknowledgementFile(string path) : IDisposable
{
    private readonly FileStream _file = new(path, FileMode.Append, FileAccess.Write, FileShare.ReadWrite, bufferSize: 0);
    private readonly Lock _gate = new();

    public void Note(ulong commandId, long sequence)
    {
        lock (_gate)
        {
            _file.Write(Encoding.ASCII.GetBytes($"{commandId} {sequence}\n"));
        }
    }

    public void Dispose() => _file.Dispose();
}
