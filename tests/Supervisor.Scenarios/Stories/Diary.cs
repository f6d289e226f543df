namespace Supervisor.Scenarios.Stories;

/// <summary>The last things that happened, for whoever has to understand a finding. Written as it happens, put into words only when read.</summary>
public sealed class Diary
{
    private const int Kept = 256;
    private readonly (TimeSpan At, string What, object? About)[] _lines = new (TimeSpan, string, object?)[Kept];
    private long _written;

    /// <summary>Notes something; <paramref name="about"/> is put into words when somebody reads it, so hand over what does not change.</summary>
    public void Note(TimeSpan at, string what, object? about = null) => _lines[_written++ % Kept] = (at, what, about);

    /// <summary>The newest lines, oldest first.</summary>
    public IEnumerable<string> Last(int count)
    {
        for (var i = Math.Max(0, _written - Math.Min(count, Kept)); i < _written; i++)
        {
            var (at, what, about) = _lines[i % Kept];
            yield return $"{at.TotalSeconds,10:0.0000} s {what} {about}";
        }
    }
}
