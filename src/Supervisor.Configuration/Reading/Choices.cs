namespace Supervisor.Configuration.Reading;

/// <summary>The words a member may hold and what they mean.</summary>
internal sealed class Choices<T>(params (string Word, T Value)[] all)
    where T : struct
{
    public IReadOnlyList<string> Words { get; } = [.. all.Select(choice => choice.Word)];

    /// <summary>The word of a value; empty when none means it.</summary>
    public string WordOf(T value) => all.FirstOrDefault(choice => choice.Value.Equals(value)).Word ?? "";

    public T? Find(string word)
    {
        foreach (var choice in all)
        {
            if (choice.Word == word)
            {
                return choice.Value;
            }
        }

        return null;
    }
}
