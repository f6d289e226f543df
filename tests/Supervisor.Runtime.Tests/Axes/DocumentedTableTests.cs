using Supervisor.Tests.Support;

namespace Supervisor.Runtime.Tests.Axes;

/// <summary>The diagrams and the table of an axis that developers read are made from the table that runs.</summary>
public sealed class DocumentedTableTests
{
    private const string Document = "DEVELOPERS.md";
    private const string Project = "Supervisor.Runtime.Tests";

    [Fact]
    public void Developers_StatesOfAnAxis_AreThoseOfTheTable() => GeneratedSection.Check(Document, "axis states", TableText.Overview(), Project);

    [Fact]
    public void Developers_DiagramOfAnAxis_IsTheTable() => GeneratedSection.Check(Document, "axis diagram", TableText.Diagram(), Project);

    [Fact]
    public void Developers_TableOfAnAxis_IsTheTable() => GeneratedSection.Check(Document, "axis table", TableText.Table(), Project);
}
