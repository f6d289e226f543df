namespace Supervisor.Daemon.Verbs.Lines;

/// <summary>One line on standard error that is written over and over while somebody looks at it; nothing where nobody does.</summary>
internal sealed class ProgressLine(TextWriter? to) : IDisposable
{
    private int _length;

    /// <summary>On this process's terminal.</summary>
    public static ProgressLine OnTerminal() =>
        new(!Console.IsErrorRedirected && Environment.GetEnvironmentVariable("TERM") is not "dumb" ? Console.Error : null);

    /// <summary>Shows a text in place of the last one.</summary>
    public void Show(string text)
    {
        to?.Write($"\r{text.PadRight(_length)}");
        _length = text.Length;
    }

    /// <summary>Takes the line away.</summary>
    public void Clear()
    {
        if (_length > 0)
        {
            to?.Write($"\r{new string(' ', _length)}\r");
            _length = 0;
        }
    }

    /// <inheritdoc/>
    public void Dispose() => Clear();
}
